"""Addresses."""

from django.urls import path

from drill.shows.views import (
    comparing,
    editing,
    move_checks,
    places,
    positions,
    shows,
    versions,
    words,
)

urlpatterns = [
    path("shows/<int:pk>/edit/", editing.edit_show, name="show-edit"),
    path("shows/new/", editing.new_show, name="show-new"),
    path("drill/", shows.shows, name="drill"),
    path("shows/<int:pk>/", shows.show, name="show"),
    path("shows/<int:pk>/places/", shows.map_place, name="show-place"),
    path("versions/<int:pk>/motion/", shows.motion, name="motion"),
    path("shows/<int:pk>/compare/", comparing.compare, name="versions-compare"),
    path("versions/<int:pk>/checks/", move_checks.checks, name="version-checks"),
    path("drill/limits/", move_checks.limits, name="move-limits"),
    path("drill/limits/new/", move_checks.edit_limit, name="step-limit-new"),
    path("drill/limits/<int:pk>/", move_checks.edit_limit, name="step-limit"),
    path("drill/limits/<int:pk>/remove/", move_checks.remove_limit, name="step-limit-remove"),
    path("shows/<int:pk>/versions/", versions.versions, name="versions"),
    path("shows/<int:pk>/place-list/", places.places, name="places"),
    path("places/<int:pk>/", places.rename_place, name="place-edit"),
    path("places/<int:pk>/remove/", places.remove_place, name="place-remove"),
    path("versions/<int:pk>/use/", versions.use, name="version-use"),
    path("versions/<int:pk>/sets/", versions.sets, name="sets"),
    path(
        "versions/<int:pk>/places/<int:place_pk>/",
        positions.place_positions,
        name="place-positions",
    ),
    path("sets/<int:pk>/", versions.edit_set, name="set"),
    path("sets/<int:pk>/move/", versions.move_set, name="set-move"),
    path("sets/<int:pk>/remove/", versions.remove_set, name="set-remove"),
    path("sets/<int:pk>/positions/", positions.set_positions, name="set-positions"),
    path("shows/<int:pk>/words/", words.show_words, name="show-words"),
    path("shows/<int:pk>/words/keep/", words.keep_words, name="show-words-keep"),
]
