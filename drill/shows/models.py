"""Shows: versions, sets, dots and where each dot stands."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from bandops.lib.bounds import between, within
from drill.field.core.field import UNITS_PER_INCH
from drill.field.enums import FieldType
from drill.field.models import FASTEST, LONGEST_STEP
from drill.shows.enums import Direction
from roster.people.models import Instrument, Season
from roster.ranks.models import Spot

MOST_COUNTS = 2_000
"""from one set to the next"""


class Show(models.Model):
    """A drill to perform; ``field_type`` names the field it is written for."""

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="shows")
    name = models.CharField(max_length=100)
    field_type = models.CharField(max_length=40, default=FieldType.HASH_60)

    audit_said = {
        "add show": "added {name}",
        "change show": "changed {name}",
    }

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["season", "name"], name="show_once")]

    def __str__(self) -> str:
        return self.name


class ShowVersion(models.Model):
    """A state of the show's coordinates; the highest order is the one in use.

    A variant is never in use by itself: it was made for one occasion, and ``change`` says in
    codes and numbers how, from the one before (a line closed up, sets cut).
    """

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="versions")
    label = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField()
    is_variant = models.BooleanField("made for one occasion", default=False)
    change = models.JSONField(null=True)

    made_for = ""
    """the occasion of a variant in words, where it was asked for"""

    audit_called = "version of a show"
    audit_said = {
        "start version": "started {label} of {show}",
        "use version": "took {label} of {show} into use",
        "undo a change of the drill": "undid a change of {show}",
    }

    class Meta:
        ordering = ["show", "order"]
        constraints = [
            models.UniqueConstraint(fields=["show", "label"], name="version_label_once"),
            models.UniqueConstraint(fields=["show", "order"], name="version_order_once"),
        ]

    def __str__(self) -> str:
        return f"{self.show} {self.label}"


class DrillSet(models.Model):
    """A numbered picture of a version; ``counts`` lead to it from the one before, at ``tempo``
    counts a minute where it is known. A subset stands between two numbered ones."""

    version = models.ForeignKey(ShowVersion, on_delete=models.CASCADE, related_name="sets")
    order = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=20)
    counts = models.PositiveSmallIntegerField(default=0, validators=between(0, MOST_COUNTS))
    is_subset = models.BooleanField("subset", default=False)
    tempo = models.PositiveSmallIntegerField(null=True, blank=True, validators=between(20, 300))

    audit_called = "set"
    audit_said = {
        "add set": "added set {label} to {version}",
        "change set": "changed set {label} of {version}",
        "move set": "moved a set of {version}",
        "remove set": "removed set {label} from {version}",
    }

    class Meta:
        ordering = ["version", "order"]
        constraints = [
            models.CheckConstraint(
                condition=Q(tempo__isnull=True) | Q(tempo__gte=20, tempo__lte=300),
                name="tempo_can_be_marched",
            ),
            models.CheckConstraint(
                condition=within("counts", 0, MOST_COUNTS), name="counts_of_a_set_in_bounds"
            ),
            models.UniqueConstraint(fields=["version", "label"], name="set_label_once"),
            models.UniqueConstraint(fields=["version", "order"], name="set_order_once"),
        ]

    def __str__(self) -> str:
        return f"set {self.label}"


class Dot(models.Model):
    """A labelled position of a show."""

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="dots")
    label = models.CharField(max_length=30)

    audit_said = {
        "add dot": "added dot {label} to {show}",
        "rename dot": "renamed a dot of {show} to {label}",
        "remove dot": "removed dot {label} from {show}",
    }

    class Meta:
        ordering = ["show", "label"]
        constraints = [models.UniqueConstraint(fields=["show", "label"], name="dot_once")]

    def __str__(self) -> str:
        return self.label


class DotMap(models.Model):
    """Which dot a spot marches in a show; without a row, the dot of its own label."""

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="dot_maps")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="dot_maps")
    dot = models.ForeignKey(Dot, on_delete=models.CASCADE, related_name="dot_maps")

    audit_called = "dot of a spot"
    audit_said = {
        "map dots": "mapped {spot} to {dot} in {show}",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["show", "spot"], name="one_dot_a_spot"),
            models.UniqueConstraint(fields=["show", "dot"], name="one_spot_a_dot"),
        ]

    def __str__(self) -> str:
        return f"{self.spot} at {self.dot}"


class Position(models.Model):
    """Where a dot stands in a set: whole 1/32 inches, x from the 50 to the right as the press
    box sees it, y from the front sideline away from it."""

    set = models.ForeignKey(DrillSet, on_delete=models.CASCADE, related_name="positions")
    dot = models.ForeignKey(Dot, on_delete=models.CASCADE, related_name="positions")
    x = models.IntegerField()
    y = models.IntegerField()

    audit_called = "coordinate"
    audit_said = {
        "save positions": "changed where {dot} stands in {set}",
    }

    class Meta:
        constraints = [models.UniqueConstraint(fields=["set", "dot"], name="position_once")]

    def __str__(self) -> str:
        return f"{self.dot} in {self.set}"


class Path(models.Model):
    """How a dot gets to a set from the one before, where that is not a straight line: in
    ``words`` (fundamentals with counts), or ``curved`` and not described."""

    set = models.ForeignKey(DrillSet, on_delete=models.CASCADE, related_name="paths")
    dot = models.ForeignKey(Dot, on_delete=models.CASCADE, related_name="paths")
    words = models.CharField(max_length=300, blank=True)
    curved = models.BooleanField(default=False)

    audit_called = "words of a move"
    audit_said = {
        "mark a curve": "said that {dot} goes curved to {set}",
        "save words of a move": "said how {dot} goes to {set}",
        "make a move straight": "said that {dot} goes straight to {set}",
    }

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["set", "dot"], name="path_once"),
            models.CheckConstraint(
                condition=Q(curved=True) | ~Q(words=""), name="path_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.dot} to {self.set}: {self.words or 'curved'}"


class StepLimit(models.Model):
    """The largest step (1/32 inch) that is not warned about; the most specific row counts."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="step_limits")
    instrument = models.ForeignKey(
        Instrument, null=True, blank=True, on_delete=models.CASCADE, related_name="step_limits"
    )
    direction = models.CharField(
        max_length=10, choices=Direction.choices, default=Direction.ANY, blank=True
    )
    from_tempo = models.PositiveSmallIntegerField(
        "from this tempo on", default=0, validators=between(0, FASTEST)
    )
    largest_step = models.PositiveIntegerField(validators=between(UNITS_PER_INCH, LONGEST_STEP))

    audit_said = {
        "save step limit": "saved a step limit[ for {instrument}]",
        "remove step limit": "removed a step limit[ for {instrument}]",
    }

    class Meta:
        ordering = ["instrument__name", "direction", "from_tempo"]
        constraints = [
            models.UniqueConstraint(
                fields=["season", "instrument", "direction", "from_tempo"], name="step_limit_once"
            ),
            models.UniqueConstraint(
                fields=["season", "direction", "from_tempo"],
                condition=Q(instrument__isnull=True),
                name="step_limit_of_all_once",
            ),
            models.CheckConstraint(
                condition=within("largest_step", 1, LONGEST_STEP)
                & within("from_tempo", 0, FASTEST),
                name="step_limit_in_bounds",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument or 'everybody'} {self.direction}: {self.largest_step}"
