"""Addresses."""

from django.urls import path

from drill.travel import views

urlpatterns = [
    path("dates/<int:pk>/travel/", views.travel, name="travel"),
    path("dates/<int:pk>/travel/change/", views.change, name="travel-change"),
]
