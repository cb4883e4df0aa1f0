"""Addresses of the API."""

from django.urls import path

from roster.people import api

urlpatterns = [
    path("members/", api.Members.as_view(), name="api-members"),
    path("members/<int:pk>/", api.OneMember.as_view(), name="api-member"),
    path("seasons/", api.Seasons.as_view(), name="api-seasons"),
    path("parts/", api.Parts.as_view(), name="api-parts"),
]
