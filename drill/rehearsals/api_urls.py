"""Addresses of the API."""

from django.urls import path

from drill.rehearsals import api

urlpatterns = [
    path("blocks/", api.Blocks.as_view(), name="api-blocks"),
    path("attendance/", api.Notes.as_view(), name="api-attendance"),
]
