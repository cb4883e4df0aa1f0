"""Where dots stand, many at once: words or steps in the same fields."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from drill.field.services.entering import Entry, off_field
from drill.shows.services.positions import Point, Spot

LONGEST = 60
WAYS = ("across", "depth")


@dataclass(frozen=True)
class Line:
    """One row of the table: a dot in a set, and where it stands now."""

    spot: Spot
    title: str
    point: Point | None

    @property
    def key(self) -> str:
        return f"{self.spot[0]}-{self.spot[1]}"


class PositionsForm(forms.Form):
    """Two fields a line. What is not touched keeps its exact coordinate, however it is written;
    what is typed is read exactly. ``was`` remembers the coordinates as the page showed them."""

    was = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self, entry: Entry, lines: Sequence[Line], data: QueryDict | None = None, **kwargs: Any
    ) -> None:
        super().__init__(data, **kwargs)
        self.entry, self.lines = entry, lines
        self.points: dict[Spot, Point | None] = {}
        self.seen: dict[Spot, Point | None] = {}
        for line in lines:
            for way, text in zip(WAYS, self._texts(line.point), strict=True):
                label = f"{line.title}, {way}"
                self.fields[f"{way}-{line.key}"] = forms.CharField(
                    label=label,
                    required=False,
                    max_length=LONGEST,
                    initial=text,
                    widget=forms.TextInput(attrs={"aria-label": label}),
                )
        self.initial["was"] = json.dumps({line.key: line.point for line in lines})

    def _texts(self, point: Point | None) -> tuple[str, str]:
        if point is None:
            return "", ""
        return self.entry.writer.across(point[0]), self.entry.writer.depth(point[1])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        shown = _shown(data.get("was", ""))
        for line in self.lines:
            names = [f"{way}-{line.key}" for way in WAYS]
            if line.key in shown and all(name in data for name in names):
                self._read(line, [data[name] for name in names], shown[line.key])
        if len(self.lines) != len(shown):
            self.add_error(None, "The sets or dots just changed: look at them again.")
        if self.errors:
            self._refresh(shown)
        return data

    def _read(self, line: Line, texts: list[str], was: Point | None) -> None:
        """What was typed, where it differs from what was shown."""
        before = self._texts(was)
        if tuple(texts) == before:
            return
        if was != line.point:
            now = self.entry.writer.coordinate(*line.point) if line.point else "nowhere"
            message = f"Somebody just moved it ({now}). Save again to keep yours."
            self.add_error(f"across-{line.key}", message)
            return
        point = None
        if any(texts):
            point = self._point(line, texts, before, was)
            if point is None:
                return
        self.points[line.spot], self.seen[line.spot] = point, was

    def _point(
        self, line: Line, texts: list[str], before: tuple[str, str], was: Point | None
    ) -> Point | None:
        found: list[int] = []
        readers: tuple[Callable[[str], int], ...] = (self.entry.across, self.entry.depth)
        for n, (way, read) in enumerate(zip(WAYS, readers, strict=True)):
            if was is not None and texts[n] == before[n]:
                found.append(was[n])
            elif not texts[n]:
                self.add_error(f"{way}-{line.key}", "Fill this in too, or empty both.")
            else:
                try:
                    found.append(read(texts[n]))
                except ValueError as error:
                    self.add_error(f"{way}-{line.key}", str(error))
        return (found[0], found[1]) if len(found) == len(WAYS) else None

    def _refresh(self, shown: dict[str, Point | None]) -> None:
        """Let the form that comes back show the coordinates of now where nothing was typed."""
        assert isinstance(self.data, QueryDict)
        data = self.data.copy()
        for line in self.lines:
            names = [f"{way}-{line.key}" for way in WAYS]
            before = self._texts(shown.get(line.key))
            if tuple(data.get(name, "").strip() for name in names) == before:
                for name, text in zip(names, self._texts(line.point), strict=True):
                    data[name] = text
        data["was"] = self.initial["was"]
        self.data = data

    @property
    def off_field(self) -> list[str]:
        """Titles of the lines that now stand beyond the edges."""
        titles = {line.spot: line.title for line in self.lines}
        return [titles[spot] for spot, point in self.points.items() if point and off_field(*point)]


def _shown(text: str) -> dict[str, Point | None]:
    """The coordinates as the page showed them; none for what is no such text."""
    try:
        found = json.loads(text)
        return {
            str(key): None if point is None else (int(point[0]), int(point[1]))
            for key, point in found.items()
        }
    except (ArithmeticError, LookupError, RecursionError, TypeError, ValueError, AttributeError):
        return {}
