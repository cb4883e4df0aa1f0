"""Addresses."""

from django.urls import path

from drill.challenges.views import challenges, criteria, deciding, marks, protections, rule

urlpatterns = [
    path("challenges/", challenges.challenges, name="challenges"),
    path("challenges/rounds/new/", challenges.edit_round, name="round-new"),
    path("challenges/rounds/<int:pk>/", challenges.challenge_round, name="round"),
    path("challenges/rounds/<int:pk>/edit/", challenges.edit_round, name="round-edit"),
    path("challenges/rule/", rule.edit_rule, name="challenge-rule"),
    path("challenges/criteria/", criteria.criteria, name="challenge-criteria"),
    path("challenges/criteria/start/", criteria.start_criteria, name="challenge-criteria-start"),
    path("challenges/criteria/<int:pk>/", criteria.edit_criterion, name="challenge-criterion"),
    path(
        "challenges/criteria/<int:pk>/remove/",
        criteria.remove_criterion,
        name="challenge-criterion-remove",
    ),
    path("challenges/protected/", protections.protected_spots, name="protected-spots"),
    path(
        "challenges/protected/<int:pk>/lift/", protections.lift_protection, name="protection-lift"
    ),
    path("challenges/<int:pk>/decide/", deciding.decide, name="challenge-decide"),
    path("challenges/<int:pk>/take-back/", deciding.take_back, name="challenge-take-back"),
    path("challenges/<int:pk>/effect/", deciding.put_into_effect, name="challenge-effect"),
    path("challenges/<int:pk>/call-off/", deciding.call_off, name="challenge-call-off"),
    path("my-challenges/", challenges.my_challenges, name="my-challenges"),
    path("marks/", marks.marks, name="marks"),
    path("marks/<int:pk>/", marks.challenge_marks, name="challenge-marks"),
]
