"""Addresses of the API."""

from django.urls import path

from roster.ranks import api

urlpatterns = [
    path("ranks/", api.Ranks.as_view(), name="api-ranks"),
    path("spots/", api.Spots.as_view(), name="api-spots"),
    path("alternates/", api.Alternates.as_view(), name="api-alternates"),
]
