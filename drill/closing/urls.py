"""Addresses."""

from django.urls import path

from drill.closing import views

urlpatterns = [
    path("dates/<int:pk>/drill/", views.event_drill, name="event-drill"),
    path("dates/<int:pk>/drill/<int:show_pk>/cut/", views.cut_show, name="cut-show"),
    path("dates/<int:pk>/drill/<int:show_pk>/undo/", views.undo, name="drill-undo"),
    path(
        "lineup/<int:pk>/<int:segment_pk>/<int:spot_pk>/close-up/", views.close_up, name="close-up"
    ),
]
