"""Addresses of the API."""

from django.urls import path

from drill.events import api

urlpatterns = [
    path("events/", api.Events.as_view(), name="api-events"),
    path("events/<int:pk>/", api.OneEvent.as_view(), name="api-event"),
]
