"""Addresses of the API."""

from django.urls import path

from drill.lineup.api import backups, lineups

urlpatterns = [
    path("events/<int:pk>/lineup/", lineups.PublishedLineup.as_view(), name="api-lineup"),
    path("backups/", backups.Backups.as_view(), name="api-backups"),
    path("solve/", lineups.Solve.as_view(), name="api-solve"),
]
