"""Addresses."""

from django.urls import path

from roster.music import views

urlpatterns = [
    path("music/", views.board, name="music"),
    path("music/hear/", views.hear, name="music-hear"),
    path("music/excerpts/", views.excerpts, name="excerpts"),
    path("music/excerpts/new/", views.edit_excerpt, name="excerpt-new"),
    path("music/excerpts/<int:pk>/", views.edit_excerpt, name="excerpt"),
    path("music/excerpts/<int:pk>/remove/", views.remove_excerpt, name="excerpt-remove"),
    path("music/leaders/new/", views.name_leader, name="section-leader-new"),
    path("music/leaders/<int:pk>/end/", views.end_leader, name="section-leader-end"),
    path("my-music/", views.my_music, name="my-music"),
]
