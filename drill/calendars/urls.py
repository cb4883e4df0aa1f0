"""Addresses."""

from django.urls import path

from drill.calendars import views

urlpatterns = [
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/<slug:token>.ics", views.feed, name="calendar-feed"),
]
