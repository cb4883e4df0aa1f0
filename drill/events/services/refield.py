"""Which texts of its shows change where an event's field has other hashes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from bandops.lib.names import label_key
from drill.events import queries
from drill.events.models import Event
from drill.field import queries as field_queries
from drill.field.core.field import FieldType as Kind
from drill.field.enums import FieldType
from drill.shows.core.refield import Rewritten, rewrite
from drill.shows.models import DrillSet, Position, Show, ShowVersion


@dataclass(frozen=True)
class DotText:
    """One dot's depth in one set: before, after, and truly (steps behind the mark named)."""

    dot: str
    old: str
    new: str
    exact: Fraction

    @property
    def exactly(self) -> str:
        """The true distance to two decimals: '2.27 behind'."""
        if not self.exact:
            return "on it"
        return f"{abs(float(self.exact)):.2f} {'in front' if self.exact < 0 else 'behind'}"


@dataclass(frozen=True)
class SetTexts:
    """The texts of one set that change, in order of dot."""

    set: DrillSet
    lines: tuple[DotText, ...]


@dataclass(frozen=True)
class ShowTexts:
    """A show of the event: the texts that change by set, and how many stay."""

    show: Show
    before: Kind
    sets: tuple[SetTexts, ...]
    stay: int

    @property
    def count(self) -> int:
        return sum(len(one.lines) for one in self.sets)


def shows_elsewhere(event: Event) -> list[Show]:
    """The event's shows that are written for another field."""
    shows = {s.show.pk: s.show for s in event.segments.all() if s.show is not None}
    return [show for show in shows.values() if show.field_type != event.field_type]


def changed_texts(event: Event) -> list[ShowTexts]:
    """Show by show what changes between its own field and the event's (two queries for each show,
    however many sets and dots)."""
    kinds = field_queries.field_types(event.season)
    style = field_queries.drill_settings(event.season).style
    usual = kinds[FieldType.HASH_60]
    after = kinds.get(event.field_type, usual)
    shows = {show.pk: show for show in shows_elsewhere(event)}
    found = []
    for show_id, version in queries.current_versions(set(shows), event).items():
        before = kinds.get(shows[show_id].field_type, usual)
        at = _positions(version)
        made = rewrite((y for rows in at.values() for _, y in rows), before, after, style)
        sets = [_set(one, at[one.pk], made) for one in version.sets.all()]
        count = sum(len(rows) for rows in at.values()) - sum(len(s.lines) for s in sets)
        changed = tuple(one for one in sets if one.lines)
        found.append(ShowTexts(shows[show_id], before, changed, count))
    return found


def _positions(version: ShowVersion) -> dict[int, list[tuple[str, int]]]:
    """Set id -> dots with their depth, in order of dot."""
    rows = Position.objects.filter(set__version=version)
    found: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for set_id, dot, y in rows.values_list("set_id", "dot__label", "y"):
        found[set_id].append((dot, y))
    for dots in found.values():
        dots.sort(key=lambda row: label_key(row[0]))
    return found


def _set(one: DrillSet, rows: list[tuple[str, int]], made: dict[int, Rewritten]) -> SetTexts:
    lines = [DotText(dot, made[y].old, made[y].new, made[y].exact) for dot, y in rows if y in made]
    return SetTexts(one, tuple(lines))
