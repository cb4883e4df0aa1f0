"""Addresses."""

from django.urls import path

from roster.people.views import (
    deputies,
    instruments,
    invitations,
    me,
    merging,
    people,
    seasons,
    splitting,
)

urlpatterns = [
    path("me/", me.me, name="me"),
    path("people/", people.people, name="people"),
    path("people/new/", people.new_member, name="member-new"),
    path("people/bulk/", people.bulk, name="people-bulk"),
    path("people/twice/", merging.twice, name="people-twice"),
    path("people/twice/<int:stays_pk>/<int:goes_pk>/", merging.merge, name="people-merge"),
    path(
        "people/twice/<int:stays_pk>/<int:goes_pk>/different/",
        merging.different,
        name="people-different",
    ),
    path("people/twice/<int:pk>/undo/", merging.undo, name="merge-undo"),
    path("people/<int:pk>/", people.member, name="member"),
    path("people/<int:pk>/edit/", people.edit_member, name="member-edit"),
    path("people/<int:pk>/standing/", people.edit_standing, name="member-standing"),
    path("people/<int:pk>/status/", people.change_status, name="member-status"),
    path("people/<int:pk>/emergency/", people.emergency_contact, name="member-emergency"),
    path("sizes/", people.sizes, name="sizes"),
    path("instruments/", instruments.instruments, name="instruments"),
    path("instruments/new/", instruments.edit_instrument, name="instrument-new"),
    path("instruments/<int:pk>/", instruments.edit_instrument, name="instrument-edit"),
    path("parts/new/", instruments.edit_part, name="part-new"),
    path("parts/<int:pk>/", instruments.edit_part, name="part-edit"),
    path("parts/<int:pk>/split/", splitting.split, name="part-split"),
    path("parts/<int:pk>/remove/", instruments.remove_part, name="part-remove"),
    path("season/", seasons.set_up, name="set-up"),
    path("season/clock/", seasons.set_clock, name="season-clock"),
    path("season/edit/", seasons.edit_season, name="season"),
    path("season/parts/", seasons.starter_parts, name="starter-parts"),
    path("season/roles/", seasons.roles, name="roles"),
    path("season/roles/<int:pk>/revoke/", seasons.revoke, name="role-revoke"),
    path("season/deputies/", deputies.deputies, name="deputies"),
    path("season/deputies/<int:pk>/end/", deputies.end, name="deputy-end"),
    path("season/invitations/", invitations.invitations, name="invitations"),
    path("season/test-mail/", invitations.test_mail, name="test-mail"),
    path("season/audit/", seasons.audit, name="audit"),
]
