"""Addresses."""

from django.urls import path

from drill.calls import views

urlpatterns = [
    path("rehearsals/<int:pk>/call/", views.call, name="call"),
    path("rehearsals/<int:pk>/call/progress/", views.call_progress, name="call-progress"),
    path("rehearsals/<int:pk>/call/file/<int:file_pk>/", views.call_file, name="call-file"),
    path("rehearsals/<int:pk>/call/rank/<int:rank_pk>/", views.call_of_rank, name="call-of-rank"),
]
