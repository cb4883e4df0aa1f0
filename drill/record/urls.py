"""Addresses."""

from django.urls import path

from drill.record import views

urlpatterns = [
    path("record/", views.record, name="record"),
    path("record/<int:pk>/", views.event_record, name="record-of"),
    path("record/correct/<int:pk>/", views.correct, name="record-entry"),
    path("record/letters/", views.letters, name="letters"),
    path("my-record/", views.my_record, name="my-record"),
]
