"""Addresses."""

from django.urls import path

from drill.challenges.views import contests, marks

urlpatterns = [
    path("contests/", contests.contests, name="contests"),
    path("contests/rounds/new/", contests.edit_round, name="round-new"),
    path("contests/rounds/<int:pk>/", contests.contest_round, name="round"),
    path("contests/rounds/<int:pk>/edit/", contests.edit_round, name="round-edit"),
    path("contests/criteria/", contests.criteria, name="contest-criteria"),
    path("contests/criteria/start/", contests.start_criteria, name="contest-criteria-start"),
    path("contests/criteria/<int:pk>/", contests.edit_criterion, name="contest-criterion"),
    path(
        "contests/criteria/<int:pk>/remove/",
        contests.remove_criterion,
        name="contest-criterion-remove",
    ),
    path("contests/protected/", contests.protected_spots, name="protected-spots"),
    path("contests/protected/<int:pk>/lift/", contests.lift_protection, name="protection-lift"),
    path("contests/<int:pk>/decide/", contests.decide, name="contest-decide"),
    path("contests/<int:pk>/take-back/", contests.take_back, name="contest-take-back"),
    path("contests/<int:pk>/effect/", contests.put_into_effect, name="contest-effect"),
    path("contests/<int:pk>/call-off/", contests.call_off, name="contest-call-off"),
    path("my-contests/", contests.my_contests, name="my-contests"),
    path("marks/", marks.marks, name="marks"),
    path("marks/<int:pk>/", marks.contest_marks, name="contest-marks"),
]
