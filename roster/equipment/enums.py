"""Fixed choices of uniforms and equipment."""

from django.db import models


class Use(models.TextChoices):
    """What a kind is."""

    UNIFORM = "uniform", "uniform piece"
    INSTRUMENT = "instrument", "instrument"
    ACCESSORY = "accessory", "accessory"
    GUARD = "guard", "guard equipment"
    LOCKER = "locker", "locker"


class ItemState(models.TextChoices):
    """Where an item is. At work it may still be somebody's."""

    IN_STORE = "in store", "in store"
    ISSUED = "issued", "issued"
    ALTERING = "altering", "altering"
    REPAIR = "repair", "repair"
    CLEANING = "cleaning", "cleaning"
    MISSING = "missing", "missing"
    RETIRED = "retired", "retired"


class Work(models.TextChoices):
    """What is done to an item that is away; each is a state of the item."""

    ALTERING = "altering", "alteration"
    REPAIR = "repair", "repair"
    CLEANING = "cleaning", "cleaning"


AT_WORK = frozenset(Work.values)
AT_HAND = (ItemState.IN_STORE, ItemState.ISSUED)


class Condition(models.IntegerChoices):
    NEW = 0, "new"
    GOOD = 1, "good"
    WORN = 2, "worn"
    POOR = 3, "poor"


class Measure(models.TextChoices):
    """What is taken of a person. No weight, and nothing about the shape of a body."""

    HEAD = "head", "head"
    NECK = "neck", "neck"
    CHEST = "chest", "chest"
    WAIST = "waist", "waist"
    HIP = "hip", "hip"
    SLEEVE = "sleeve", "sleeve"
    INSEAM = "inseam", "inseam"
    HEIGHT = "height", "height"
    HAND = "hand", "hand"
    FOOT = "foot", "shoe size"


USUAL = {
    Measure.HEAD: (15, 32),
    Measure.NECK: (8, 30),
    Measure.CHEST: (20, 76),
    Measure.WAIST: (17, 76),
    Measure.HIP: (20, 80),
    Measure.SLEEVE: (15, 48),
    Measure.INSEAM: (14, 48),
    Measure.HEIGHT: (36, 96),
    Measure.HAND: (3, 15),
    Measure.FOOT: (1, 24),
}
"""inches (shoes: size numbers) from and to which a figure may be meant (common practice, no
source): beyond, a point was forgotten, or it is another unit"""


class UnitChoice(models.TextChoices):
    INCH = "in", "inches"
    CM = "cm", "centimeters"
    NUMBER = "number", "a size number"


class ChargeState(models.TextChoices):
    OWED = "owed", "owed"
    PAID = "paid", "paid"
    WAIVED = "waived", "waived"
