"""Challenges: an alternate tries for a holder's spot in front of evaluators."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import MOST_ORDER, between, within
from bandops.lib.dates import day_words
from drill.challenges.enums import Challengers, ChallengeState, Reach, Side
from drill.events.models import Event
from roster.people.enums import Merging
from roster.people.models import Member, Season
from roster.ranks.models import Holding, Spot

HIGHEST_MARK, MOST_WEIGHT = 1_000, 1_000


class ChallengeRule(models.Model):
    """Who may challenge whom in a season."""

    season = models.OneToOneField(Season, on_delete=models.CASCADE, related_name="challenge_rule")
    who = models.CharField(
        "who may challenge",
        max_length=10,
        choices=Challengers.choices,
        default=Challengers.ALTERNATES,
    )
    reach = models.CharField(
        "for spots of a part they play",
        max_length=10,
        choices=Reach.choices,
        default=Reach.PART,
    )

    audit_said = {
        "choose who may challenge": "changed who may challenge",
    }

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(who__in=Challengers.values) & Q(reach__in=Reach.values),
                name="challenge_rule_known",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def words(self) -> str:
        """'Alternates only, for spots of a part they play in their own rank.'"""
        who, reach = self.get_who_display(), self.get_reach_display()
        return f"{who.capitalize()}, for spots of a part they play {reach}."


class ChallengeRound(models.Model):
    """One week's challenges: until when people sign up, when they are held, and the event from
    which a win counts."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="challenge_rounds")
    name = models.CharField(max_length=60)
    opens_at = models.DateTimeField()
    closes_at = models.DateTimeField()
    held_at = models.DateTimeField()
    effective = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="challenge_rounds")

    audit_said = {
        "save challenge round": "saved the round {name}",
    }

    class Meta:
        ordering = ["-held_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="challenge_round_once"),
            models.CheckConstraint(
                condition=Q(opens_at__lt=F("closes_at")) & Q(closes_at__lte=F("held_at")),
                name="challenge_round_in_order",
                violation_error_message="Sign-up opens, closes, and then the challenges are held.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return self.season.zone

    @property
    def held_on(self) -> datetime.date:
        """The day of the challenges, in the season's zone."""
        return self.held_at.astimezone(self.zone).date()


class ChallengeCriterion(models.Model):
    """What challenges are marked on."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="challenge_criteria")
    name = models.CharField(max_length=60)
    top = models.PositiveSmallIntegerField(
        "highest mark", default=10, validators=between(1, HIGHEST_MARK)
    )
    weight = models.PositiveSmallIntegerField(default=1, validators=between(1, MOST_WEIGHT))
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))

    audit_said = {
        "save challenge criterion": "saved the criterion “{name}”",
        "remove challenge criterion": "removed the criterion “{name}”",
        "add challenge criteria": "added the criterion “{name}”",
    }

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name"], name="challenge_criterion_once"),
            models.CheckConstraint(
                condition=within("top", 1, HIGHEST_MARK)
                & within("weight", 1, MOST_WEIGHT)
                & within("order", 0, MOST_ORDER),
                name="challenge_criterion_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Challenge(models.Model):
    """One challenger for one spot.

    ``challenger_is_a`` says which of the two blind sides is the challenger; evaluators see sides
    only. ``outcome`` keeps the figures and the reason of the decision. ``applied_at`` is set once,
    with the holding that the win made.
    """

    round = models.ForeignKey(ChallengeRound, on_delete=models.CASCADE, related_name="challenges")
    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="challenges")
    challenger = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="challenges")
    holder = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="challenges_held")
    state = models.CharField(
        max_length=10, choices=ChallengeState.choices, default=ChallengeState.ASKED
    )
    challenger_is_a = models.BooleanField(default=False)
    asked_at = models.DateTimeField(auto_now_add=True)
    outcome = models.JSONField(default=dict)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    decided_at = models.DateTimeField(null=True)
    applied_at = models.DateTimeField(null=True)
    holding = models.OneToOneField(
        Holding, null=True, on_delete=models.SET_NULL, related_name="challenge"
    )

    audit_said = {
        "ask for spot": "had {challenger} challenge {holder} for {spot}",
        "call off challenge": "called off the challenge of {challenger} for {spot}",
        "call off challenges": "called off the challenge of {challenger} for {spot}",
        "decide challenge": "decided the challenge of {challenger} for {spot}",
        "take decision back": "took back the decision about {spot}",
        "put win into effect": "put the win of {challenger} for {spot} into effect",
        "mark challenge": "marked the challenge for {spot}",
    }
    merging = Merging.KEEP

    class Meta:
        ordering = ["round", "spot__rank__order", "spot__number", "id"]
        constraints = [
            models.UniqueConstraint(fields=["round", "challenger"], name="one_challenge_a_round"),
            models.UniqueConstraint(
                fields=["round", "spot"],
                condition=Q(state=ChallengeState.WON),
                name="one_win_a_spot_and_round",
            ),
            models.CheckConstraint(
                condition=~Q(challenger=F("holder")),
                name="challenge_of_two_people",
                violation_error_message="Nobody challenges their own spot.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.challenger} for {self.spot}"


class ChallengeMark(models.Model):
    """One evaluator's mark for one side on one criterion."""

    challenge = models.ForeignKey(Challenge, on_delete=models.CASCADE, related_name="marks")
    evaluator = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="challenge_marks"
    )
    criterion = models.ForeignKey(
        ChallengeCriterion, on_delete=models.PROTECT, related_name="marks"
    )
    side = models.CharField(max_length=1, choices=Side.choices)
    value = models.DecimalField(max_digits=6, decimal_places=2)

    audit_said = {
        "mark challenge": "marked {challenge}",
    }
    audit_final = True

    class Meta:
        ordering = ["challenge", "evaluator", "side", "criterion"]
        constraints = [
            models.UniqueConstraint(
                fields=["challenge", "evaluator", "criterion", "side"], name="challenge_mark_once"
            ),
            models.CheckConstraint(condition=Q(value__gte=0), name="challenge_mark_from_0"),
        ]

    def __str__(self) -> str:
        return f"{self.side}: {self.value}"


class ProtectedSpot(models.Model):
    """Staff's word that a spot is not open to challenges for a time."""

    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="protections")
    until = models.DateField("through", null=True, blank=True)
    protected_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    audit_said = {
        "protect spot": "protected {spot}[ through {until}]",
        "lift protection": "lifted the protection of {spot}",
    }

    class Meta:
        constraints = [models.UniqueConstraint(fields=["spot"], name="protected_once")]

    def __str__(self) -> str:
        return f"{self.spot} protected"

    @property
    def words(self) -> str:
        """'through Oct 12, 2026' or 'until lifted'."""
        return f"through {day_words(self.until)}" if self.until else "until lifted"
