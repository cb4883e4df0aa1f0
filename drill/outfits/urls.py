"""Addresses."""

from django.urls import path

from drill.outfits import views

urlpatterns = [
    path("events/<int:pk>/uniform/", views.of_event, name="uniform"),
    path("drill/shows/<int:pk>/uniform/", views.of_show, name="show-uniform"),
]
