"""Addresses of the API."""

from django.urls import path

from roster.tryouts import api

urlpatterns = [
    path("tryouts/", api.Tryouts.as_view(), name="api-tryouts"),
    path("results/", api.Results.as_view(), name="api-results"),
]
