"""Addresses."""

from django.urls import path

from drill.challenges.views import contests, criteria, deciding, marks, protections

urlpatterns = [
    path("contests/", contests.contests, name="contests"),
    path("contests/rounds/new/", contests.edit_round, name="round-new"),
    path("contests/rounds/<int:pk>/", contests.contest_round, name="round"),
    path("contests/rounds/<int:pk>/edit/", contests.edit_round, name="round-edit"),
    path("contests/criteria/", criteria.criteria, name="contest-criteria"),
    path("contests/criteria/start/", criteria.start_criteria, name="contest-criteria-start"),
    path("contests/criteria/<int:pk>/", criteria.edit_criterion, name="contest-criterion"),
    path(
        "contests/criteria/<int:pk>/remove/",
        criteria.remove_criterion,
        name="contest-criterion-remove",
    ),
    path("contests/protected/", protections.protected_spots, name="protected-spots"),
    path("contests/protected/<int:pk>/lift/", protections.lift_protection, name="protection-lift"),
    path("contests/<int:pk>/decide/", deciding.decide, name="contest-decide"),
    path("contests/<int:pk>/take-back/", deciding.take_back, name="contest-take-back"),
    path("contests/<int:pk>/effect/", deciding.put_into_effect, name="contest-effect"),
    path("contests/<int:pk>/call-off/", deciding.call_off, name="contest-call-off"),
    path("my-contests/", contests.my_contests, name="my-contests"),
    path("marks/", marks.marks, name="marks"),
    path("marks/<int:pk>/", marks.contest_marks, name="contest-marks"),
]
