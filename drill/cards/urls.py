"""Addresses."""

from django.urls import path

from drill.cards import views

urlpatterns = [
    path("card/", views.card, name="card"),
    path("card/<int:pk>/", views.card, name="card-of"),
    path("my-rank/", views.my_rank, name="my-rank"),
    path("my-rank/backups/", views.my_backups, name="my-backups"),
]
