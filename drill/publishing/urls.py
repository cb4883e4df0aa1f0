"""Addresses."""

from django.urls import path

from drill.publishing.views import publishing, revisions, slips

urlpatterns = [
    path("lineup/<int:pk>/publish/", publishing.publish, name="publish"),
    path("revisions/<int:pk>/", revisions.revision, name="revision"),
    path("revisions/<int:pk>/progress/", revisions.progress, name="revision-progress"),
    path("revisions/<int:pk>/prints/", revisions.request_prints, name="revision-prints"),
    path("revisions/<int:pk>/notices-now/", revisions.notices_now, name="notices-now"),
    path("revisions/<int:pk>/notices-again/", revisions.notices_again, name="notices-again"),
    path("notices/<int:pk>/confirm/", revisions.confirm, name="notice-confirm"),
    path("notices/<int:pk>/told/", revisions.told, name="notice-told"),
    path("revisions/<int:pk>/told/", revisions.told_several, name="notices-told"),
    path("files/<int:pk>/", revisions.file, name="file"),
    path("r/<uuid:code>/", revisions.code, name="code"),
    path("slips/<int:pk>/<int:member_pk>/", revisions.slip, name="slip"),
    path("dates/<int:pk>/slips/", slips.print_slips, name="slips-print"),
    path("revisions/<int:pk>/again/", revisions.again, name="revision-again"),
]
