"""Addresses of the API."""

from django.urls import path

from drill.lineup.api import lineups

urlpatterns = [
    path("events/", lineups.EventList.as_view(), name="api-events"),
    path("events/<int:pk>/lineup/", lineups.PublishedLineup.as_view(), name="api-lineup"),
    path("solve/", lineups.Solve.as_view(), name="api-solve"),
]
