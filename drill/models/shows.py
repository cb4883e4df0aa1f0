"""Shows: versions, sets, places and where each place stands."""

from __future__ import annotations

from django.db import models

from roster.models import Season, Spot


class Show(models.Model):
    """A drill to perform."""

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="shows")
    name = models.CharField(max_length=100)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["season", "name"], name="show_once")]

    def __str__(self) -> str:
        return self.name


class ShowVersion(models.Model):
    """A state of the show's coordinates; the highest order is the one in use."""

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="versions")
    label = models.CharField(max_length=60)
    order = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["show", "order"]
        constraints = [
            models.UniqueConstraint(fields=["show", "label"], name="version_label_once"),
            models.UniqueConstraint(fields=["show", "order"], name="version_order_once"),
        ]

    def __str__(self) -> str:
        return f"{self.show} {self.label}"


class DrillSet(models.Model):
    """A numbered picture of a version; ``counts`` lead to it from the one before."""

    version = models.ForeignKey(ShowVersion, on_delete=models.CASCADE, related_name="sets")
    order = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=20)
    counts = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["version", "order"]
        constraints = [
            models.UniqueConstraint(fields=["version", "label"], name="set_label_once"),
            models.UniqueConstraint(fields=["version", "order"], name="set_order_once"),
        ]

    def __str__(self) -> str:
        return f"set {self.label}"


class Place(models.Model):
    """A labelled position of a show."""

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="places")
    label = models.CharField(max_length=30)

    class Meta:
        ordering = ["show", "label"]
        constraints = [models.UniqueConstraint(fields=["show", "label"], name="place_once")]

    def __str__(self) -> str:
        return self.label


class PlaceMap(models.Model):
    """Which place a spot marches in a show; without a row, the place of its own label."""

    show = models.ForeignKey(Show, on_delete=models.CASCADE, related_name="place_maps")
    spot = models.ForeignKey(Spot, on_delete=models.CASCADE, related_name="place_maps")
    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="place_maps")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["show", "spot"], name="one_place_a_spot"),
            models.UniqueConstraint(fields=["show", "place"], name="one_spot_a_place"),
        ]

    def __str__(self) -> str:
        return f"{self.spot} at {self.place}"


class Position(models.Model):
    """Where a place stands in a set: whole 1/32 inches, x from the 50 to the right as the press
    box sees it, y from the front sideline away from it."""

    set = models.ForeignKey(DrillSet, on_delete=models.CASCADE, related_name="positions")
    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="positions")
    x = models.IntegerField()
    y = models.IntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["set", "place"], name="position_once")]

    def __str__(self) -> str:
        return f"{self.place} in {self.set}"
