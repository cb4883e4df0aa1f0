"""Addresses."""

from django.urls import path

from drill.week import views

urlpatterns = [
    path("", views.home, name="home"),
    path("week/", views.week, name="week"),
    path("week/<int:pk>/", views.week, name="week-of"),
]
