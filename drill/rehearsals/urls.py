"""Addresses."""

from django.urls import path

from drill.rehearsals.views import attendance, rehearsals

urlpatterns = [
    path("dates/<int:pk>/blocks/", rehearsals.new_block, name="block-new"),
    path("blocks/<int:pk>/", rehearsals.edit_block, name="block"),
    path("blocks/<int:pk>/remove/", rehearsals.remove_block, name="block-remove"),
    path("rehearsals/", rehearsals.rehearsals, name="rehearsals"),
    path("rehearsals/<int:pk>/attendance/", attendance.attendance, name="attendance"),
    path("rehearsals/<int:pk>/attendance/note/", attendance.note, name="attendance-note"),
    path("rehearsals/<int:pk>/attendance/rest/", attendance.rest, name="attendance-rest"),
]
