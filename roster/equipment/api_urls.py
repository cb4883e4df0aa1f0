"""Addresses of the API."""

from django.urls import path

from roster.equipment import api

urlpatterns = [
    path("kinds/", api.Kinds.as_view(), name="api-kinds"),
    path("items/", api.Items.as_view(), name="api-items"),
    path("items/<int:pk>/", api.OneItem.as_view(), name="api-item"),
    path("items/<int:pk>/hand-out/", api.HandOut.as_view(), name="api-item-hand-out"),
    path("items/<int:pk>/take-back/", api.TakeBack.as_view(), name="api-item-take-back"),
]
