"""Addresses of the API."""

from django.urls import path

from drill.shows import api

urlpatterns = [
    path("shows/", api.Shows.as_view(), name="api-shows"),
    path("sets/", api.Sets.as_view(), name="api-sets"),
    path("coordinates/", api.Coordinates.as_view(), name="api-coordinates"),
]
