"""Addresses of the API."""

from django.urls import path

from drill.record import api

urlpatterns = [path("record/", api.Entries.as_view(), name="api-record")]
