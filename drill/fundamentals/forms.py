"""Fundamentals, the words of a move, evaluation sequences."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from typing import Any

from django import forms

from drill.fundamentals.core import Fundamental
from drill.fundamentals.core.definition import Counting, Direction, Foot, Measured, Pivot, Position
from drill.fundamentals.models import LARGEST_SEED, MOST_COUNTS, SQUARES, Abbreviation
from drill.fundamentals.services.sequences import MOST_GROUPS


def _choices(words: Iterable[str]) -> list[tuple[str, str]]:
    return [(str(word), str(word)) for word in words]


class FundamentalForm(forms.Form):
    """A fundamental with all that bands do differently in it."""

    fine = frozenset(
        {"any_counts", "measured", "position", "other_side", "turn_from", "turn_to", "turn_after"}
        | {"counting", "direction", "pivot", "stance", "horns", "feet", "lead", "stops", "drawn"}
    )
    """fields that most fundamentals leave as they are: folded away"""

    name = forms.CharField(max_length=60)
    also = forms.CharField(
        label="Also said", required=False, max_length=200, help_text="Other words, with commas."
    )
    note = forms.CharField(required=False, max_length=400, widget=forms.Textarea(attrs={"rows": 2}))
    counts = forms.IntegerField(
        required=False,
        min_value=0,
        help_text="0: a turn between two counts; 1: a turn that takes a count of its own. "
        "Empty: as many as whoever uses it says.",
    )
    any_counts = forms.BooleanField(
        label="Can take other counts", required=False, help_text="Then its steps repeat."
    )
    path = forms.CharField(
        label="Steps",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="One line per count: steps to the right, steps forward, as in “-1, 0”. Write "
        "“stay” where no foot moves.",
    )
    measured = forms.ChoiceField(
        label="Steps are measured from",
        choices=[
            (Measured.BODY, "the body"),
            (Measured.SAME_FOOT, "where the same foot was"),
            (Measured.OTHER_FOOT, "the other foot"),
            (Measured.START, "the spot where it starts"),
        ],
    )
    position = forms.ChoiceField(
        label="The body stands over",
        choices=[
            (Position.LAST_FOOT, "the last foot put down"),
            (Position.MIDPOINT, "the middle between the feet"),
            (Position.STILL, "the spot where it starts, all the time"),
        ],
        help_text="Only matters when steps are not measured from the body.",
    )
    other_side = forms.BooleanField(label="Steps to the side go to the other side", required=False)
    turn = forms.FloatField(
        initial=0,
        help_text="Degrees in all, to the left. To the right with a minus: −90 is a quarter right.",
    )
    turn_from = forms.IntegerField(label="Turn begins on count", initial=1, min_value=1)
    turn_to = forms.IntegerField(
        label="Turn ends on count", required=False, min_value=1, help_text="Empty: the last one."
    )
    turn_after = forms.CharField(
        label="Or degrees after each count",
        required=False,
        max_length=200,
        help_text="With commas, as in “45, 90, 135, 180”.",
    )
    counting = forms.ChoiceField(
        label="A turn over counts 2 to 4 takes",
        choices=[
            (Counting.INCLUSIVE, "three counts: both ends are counted"),
            (Counting.INTERVALS, "two counts: the gaps between"),
        ],
    )
    direction = forms.ChoiceField(
        label="A step goes the way the body faces",
        choices=[
            (Direction.END, "at the end of their count"),
            (Direction.MIDDLE, "in the middle of their count"),
            (Direction.START, "at the start of their count"),
            (Direction.FIRST, "at the start of the movement"),
        ],
    )
    pivot = forms.ChoiceField(
        label="Turns on",
        choices=[
            (Pivot.CENTRE, "no foot in particular"),
            (Pivot.RIGHT, "the right foot"),
            (Pivot.LEFT, "the left foot"),
        ],
    )
    stance = forms.FloatField(
        label="Width between the feet", initial=0, min_value=0, help_text="Inches."
    )
    horns = forms.FloatField(
        label="Horns point", initial=0, help_text="Degrees to the left of the facing."
    )
    feet = forms.FloatField(
        label="Toes point", initial=0, help_text="Degrees to the left of the facing."
    )
    lead = forms.ChoiceField(
        label="First foot",
        required=False,
        choices=[("", "whichever comes next"), *_choices(Foot)],
    )
    stops = forms.BooleanField(
        label="It is a stop: feet stand after the first count", required=False
    )
    drawn = forms.BooleanField(
        label="The picture says where it ends",
        required=False,
        help_text="For example, a line pivoting on its end: the steps above are only an example, "
        "and words with it are not compared with coordinates.",
    )
    difficulty = forms.IntegerField(
        min_value=1, max_value=9, initial=1, help_text="1 easy to 9 hard, for sequences."
    )

    def clean_path(self) -> list[list[str] | None]:
        """The steps, a pair of numbers or None for each line."""
        lines = [line.strip() for line in self.cleaned_data["path"].splitlines()]
        return [_step(line) for line in lines if line]

    def clean_turn_after(self) -> list[str]:
        return _split(self.cleaned_data["turn_after"])

    def clean_also(self) -> list[str]:
        return _split(self.cleaned_data["also"])

    def definition(self) -> dict[str, Any]:
        """What ``drill.fundamentals.core.read`` takes."""
        data = dict(self.cleaned_data)
        data["lead"] = data["lead"] or None
        return data


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _step(line: str) -> list[str] | None:
    if line.lower() == "stay":
        return None
    parts = _split(line)
    if len(parts) != 2:
        raise forms.ValidationError(f"“{line}” is not a step: write two numbers or “stay”.")
    return parts


def as_typed(it: Fundamental) -> dict[str, Any]:
    """A fundamental as the form shows it."""
    steps = ["stay" if v is None else f"{v[0]:g}, {v[1]:g}" for v in it.path]
    return {
        **{name: getattr(it, name) for name in FundamentalForm.base_fields},
        "also": ", ".join(it.also),
        "path": "\n".join(steps),
        "turn_after": ", ".join(f"{angle:g}" for angle in it.turn_after),
        "lead": it.lead or "",
    }


class AbbreviationForm(forms.ModelForm[Abbreviation]):
    """A word of the band's own and what it says; the service checks both."""

    class Meta:
        model = Abbreviation
        fields = ("word", "says")
        labels = {"word": "Abbreviation"}
        help_texts = {
            "word": "As in “TR” or “b2”.",
            "says": "One or more moves, with or without counts, as in “left flank” or “forward 8, "
            "left flank”. It may use other abbreviations.",
        }


class SequenceForm(forms.Form):
    """What a sequence is made of."""

    label = forms.CharField(label="Name", max_length=60)
    codes = forms.MultipleChoiceField(
        label="Fundamentals",
        widget=forms.CheckboxSelectMultiple,
        help_text="Each is used about equally.",
    )
    counts = forms.IntegerField(min_value=2, max_value=MOST_COUNTS, initial=32)
    square = forms.IntegerField(
        label="Side of the square",
        min_value=SQUARES[0],
        max_value=SQUARES[1],
        initial=16,
        help_text="In 8-to-5 steps; the start spot is in the middle.",
    )
    groups = forms.IntegerField(
        min_value=1,
        max_value=MOST_GROUPS,
        initial=2,
        help_text="Each group gets its own, all equally difficult.",
    )
    seed = forms.IntegerField(
        min_value=0,
        max_value=LARGEST_SEED,
        help_text="The same number makes the same sequences again.",
    )

    def __init__(self, fundamentals: Iterable[Fundamental], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["codes"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(it.code, f"{it.name} ({it.difficulty})") for it in fundamentals]
        self.fields["seed"].initial = secrets.randbelow(100_000)
