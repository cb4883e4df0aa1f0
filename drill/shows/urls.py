"""Addresses."""

from django.urls import path

from drill.shows.views import (
    comparing,
    dots,
    editing,
    move_checks,
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
    path("shows/<int:pk>/dots/", shows.map_dot, name="show-dot"),
    path("versions/<int:pk>/motion/", shows.motion, name="motion"),
    path("shows/<int:pk>/compare/", comparing.compare, name="versions-compare"),
    path("versions/<int:pk>/checks/", move_checks.checks, name="version-checks"),
    path("drill/limits/", move_checks.limits, name="move-limits"),
    path("drill/limits/new/", move_checks.edit_limit, name="step-limit-new"),
    path("drill/limits/<int:pk>/", move_checks.edit_limit, name="step-limit"),
    path("drill/limits/<int:pk>/remove/", move_checks.remove_limit, name="step-limit-remove"),
    path("shows/<int:pk>/versions/", versions.versions, name="versions"),
    path("shows/<int:pk>/dot-list/", dots.dots, name="dots"),
    path("dots/<int:pk>/", dots.rename_dot, name="dot-edit"),
    path("dots/<int:pk>/remove/", dots.remove_dot, name="dot-remove"),
    path("versions/<int:pk>/use/", versions.use, name="version-use"),
    path("versions/<int:pk>/sets/", versions.sets, name="sets"),
    path(
        "versions/<int:pk>/dots/<int:dot_pk>/",
        positions.dot_positions,
        name="dot-positions",
    ),
    path("sets/<int:pk>/", versions.edit_set, name="set"),
    path("sets/<int:pk>/move/", versions.move_set, name="set-move"),
    path("sets/<int:pk>/remove/", versions.remove_set, name="set-remove"),
    path("sets/<int:pk>/positions/", positions.set_positions, name="set-positions"),
    path("shows/<int:pk>/words/", words.show_words, name="show-words"),
    path("shows/<int:pk>/words/keep/", words.keep_words, name="show-words-keep"),
]
