"""Addresses of the API."""

from django.urls import path

from drill.travel import api

urlpatterns = [path("travellers/", api.Travellers.as_view(), name="api-travellers")]
