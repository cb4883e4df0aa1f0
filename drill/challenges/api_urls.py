"""Addresses of the API."""

from django.urls import path

from drill.challenges import api

urlpatterns = [
    path("challenge-rounds/", api.Rounds.as_view(), name="api-challenge-rounds"),
    path("challenges/", api.Challenges.as_view(), name="api-challenges"),
]
