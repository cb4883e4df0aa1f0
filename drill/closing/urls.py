"""Addresses."""

from django.urls import path

from drill.closing.views import closing

urlpatterns = [
    path("dates/<int:pk>/drill/", closing.event_drill, name="event-drill"),
    path("dates/<int:pk>/drill/<int:show_pk>/cut/", closing.cut_show, name="cut-show"),
    path("dates/<int:pk>/drill/<int:show_pk>/undo/", closing.undo, name="drill-undo"),
    path(
        "lineup/<int:pk>/<int:segment_pk>/<int:spot_pk>/close-up/",
        closing.close_up,
        name="close-up",
    ),
]
