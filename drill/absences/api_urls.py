"""Addresses of the API."""

from django.urls import path

from drill.absences import api

urlpatterns = [
    path("absences/", api.Absences.as_view(), name="api-absences"),
    path("absences/<int:pk>/", api.OneAbsence.as_view(), name="api-absence"),
    path("absences/<int:pk>/withdraw/", api.Withdraw.as_view(), name="api-absence-withdraw"),
]
