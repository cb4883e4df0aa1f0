"""Ranks, their spots, who holds them and who stands by."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from bandops.lib.bounds import MOST_ORDER, between, within
from roster.people.enums import AlternatePool
from roster.people.models import Member, Part, Season

LABEL_LENGTH = 20


class Rank(models.Model):
    """A line of the band that rehearses and marches together."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="ranks")
    label = models.CharField(max_length=20)
    order = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_ORDER))
    leader = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="leads"
    )
    assistant_leader = models.ForeignKey(
        Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="assists"
    )

    audit_said = {
        "save rank": "saved rank {label}",
    }

    class Meta:
        ordering = ["order", "label"]
        constraints = [
            models.UniqueConstraint(fields=["season", "label"], name="rank_label_once"),
            models.CheckConstraint(
                condition=within("order", 0, MOST_ORDER), name="rank_order_in_bounds"
            ),
            models.CheckConstraint(
                condition=Q(leader__isnull=True)
                | Q(assistant_leader__isnull=True)
                | ~Q(leader=F("assistant_leader")),
                name="leader_is_not_assistant",
                violation_error_message="Leader and assistant leader must be two people.",
            ),
        ]

    def __str__(self) -> str:
        return f"Rank {self.label}"


class Spot(models.Model):
    """One position of the drill, written ``4-11`` (rank 4, number 11) or as the band labels it.

    ``number`` is its order in the rank. No two spots of a season read the same (``label_words``).
    """

    rank = models.ForeignKey(Rank, on_delete=models.PROTECT, related_name="spots")
    number = models.PositiveSmallIntegerField(validators=between(1, MOST_ORDER))
    own_label = models.CharField(
        "label",
        max_length=LABEL_LENGTH,
        blank=True,
        default="",
        help_text="As the band writes it, such as A1 or 7B. Empty: rank and number.",
    )
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="spots")
    weight = models.PositiveSmallIntegerField(
        "how much an open spot here hurts",
        default=1,
        validators=between(1, 5),
    )
    needs_experience = models.BooleanField("needs an experienced marcher", default=False)

    audit_said = {
        "save spot": "saved spot {row}",
    }
    audit_reads = ("rank",)

    class Meta:
        ordering = ["rank__order", "rank__label", "number"]
        constraints = [
            models.UniqueConstraint(fields=["rank", "number"], name="spot_number_once"),
            models.UniqueConstraint(
                fields=["rank", "own_label"],
                condition=~Q(own_label=""),
                name="spot_label_once",
                violation_error_message="The rank has a spot of that label already.",
            ),
            models.CheckConstraint(
                condition=within("number", 1, MOST_ORDER), name="spot_number_in_bounds"
            ),
            models.CheckConstraint(
                condition=Q(weight__gte=1) & Q(weight__lte=5), name="spot_weight_1_to_5"
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """As every page writes it."""
        return self.own_label or f"{self.rank.label}-{self.number}"


class Holding(models.Model):
    """A member holds a spot from ``starts`` until the day before ``ends``."""

    spot = models.ForeignKey(Spot, on_delete=models.PROTECT, related_name="holdings")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="holdings")
    starts = models.DateField()
    ends = models.DateField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True)

    audit_called = "spot held"
    audit_said = {
        "place holder": "gave {spot} to {member}",
        "move holder": "moved {member} to {spot}",
        "swap holders": "moved {member} to {spot}",
        "change holder": "gave {spot} to {member}",
        "take spot over": "gave {spot} to {member}",
        "vacate spot": "took {member} off {spot}",
        "give up places": "took {member} off {spot}",
    }

    class Meta:
        ordering = ["starts", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["spot"], condition=Q(ends__isnull=True), name="one_holder_a_spot"
            ),
            models.UniqueConstraint(
                fields=["member"], condition=Q(ends__isnull=True), name="one_spot_a_holder"
            ),
            models.CheckConstraint(
                condition=Q(ends__isnull=True) | Q(ends__gt=F("starts")),
                name="holding_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.spot}: {self.member}"


class AlternatePlace(models.Model):
    """A member's standing among the alternates of one part in their pool.

    ``rank`` is where they stand by and rehearse, whatever the ``pool``, which follows the season's
    choice. ``standing`` is empty only inside the transaction that reorders them.
    """

    member = models.OneToOneField(Member, on_delete=models.PROTECT, related_name="alternate_place")
    rank = models.ForeignKey(Rank, on_delete=models.PROTECT, related_name="alternates")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="alternates")
    pool = models.CharField(
        max_length=10, choices=AlternatePool.choices, default=AlternatePool.RANK
    )
    standing = models.PositiveSmallIntegerField(null=True, validators=between(1, MOST_ORDER))

    audit_called = "alternate"
    audit_said = {
        "add alternate": "made {member} an alternate for {part}, rank {rank}",
        "become alternate": "made {member} an alternate for {part}, rank {rank}",
        "remove alternate": "took {member} off the alternates",
        "give up places": "took {member} off the alternates",
        "change the alternates' pools": "put the alternates in other pools",
        "reorder alternates": "put the alternates in a new order",
    }

    class Meta:
        ordering = ["rank__order", "rank__label", "part__order", "standing"]
        constraints = [
            models.UniqueConstraint(
                fields=["rank", "part", "standing"], name="standing_once_a_rank_and_part"
            ),
            # A part belongs to one season and one instrument: the whole band's pool, and a
            # section's.
            models.UniqueConstraint(
                fields=["part", "standing"],
                condition=~Q(pool=AlternatePool.RANK),
                name="standing_once_a_part",
            ),
            models.CheckConstraint(
                condition=Q(pool__in=AlternatePool.values), name="alternate_pool_known"
            ),
            models.CheckConstraint(
                condition=within("standing", 1, MOST_ORDER), name="standing_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}: {self.words}"

    @property
    def words(self) -> str:
        """'alternate 2, Rank 1', or 'alternate 2 of the band, Rank 1'."""
        return f"{self.title}, {self.rank}"

    @property
    def title(self) -> str:
        """'alternate 2', or 'alternate 2 of the band'."""
        return f"alternate {self.number}"

    @property
    def number(self) -> str:
        """'2', or '2 of the band' where the pool is wider than the rank."""
        return f"{self.standing}" + (
            "" if self.pool == AlternatePool.RANK else f" of the {self.pool}"
        )
