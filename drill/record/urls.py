"""Addresses."""

from django.urls import path

from drill.record import views

urlpatterns = [
    path("turns/", views.turns, name="turns"),
    path("turns/<int:pk>/", views.event_turns, name="turns-of"),
    path("turns/correct/<int:pk>/", views.correct, name="turn"),
    path("my-turns/", views.my_turns, name="my-turns"),
]
