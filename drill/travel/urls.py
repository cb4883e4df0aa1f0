"""Addresses."""

from django.urls import path

from drill.travel import views

urlpatterns = [
    path("travel/", views.next_travel, name="next-travel"),
    path("dates/<int:pk>/travel/", views.travel, name="travel"),
    path("dates/<int:pk>/travel/change/", views.change, name="travel-change"),
]
