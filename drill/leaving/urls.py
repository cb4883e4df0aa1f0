"""Addresses."""

from django.urls import path

from drill.leaving import views

urlpatterns = [
    path("people/<int:pk>/release/", views.release, name="member-release"),
]
