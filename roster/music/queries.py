"""Who has to pass what, and who has."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from roster.music.models import Excerpt, Hearing
from roster.people.models import Instrument, Member, Qualification, Season
from roster.people.queries import active_members


def excerpts(season: Season) -> QuerySet[Excerpt]:
    """All of them in order."""
    return Excerpt.objects.filter(season=season).select_related("instrument", "part__instrument")


def with_music(season: Season, sections: Sequence[Instrument]) -> list[Instrument]:
    """Those for which there is an excerpt of their own or for everybody."""
    asked = {e.part.instrument_id if e.part else e.instrument_id for e in excerpts(season)}
    return [i for i in sections if None in asked or i.pk in asked]


@dataclass(frozen=True)
class Passing:
    """One member and one excerpt they have to pass: how often they were heard, and the hearing in
    which they passed."""

    member: Member
    excerpt: Excerpt
    heard: int
    passed: Hearing | None


@dataclass(frozen=True)
class Board:
    """Members of an instrument by what they have to pass; None where an excerpt is not theirs."""

    excerpts: tuple[Excerpt, ...]
    rows: tuple[tuple[Member, tuple[Passing | None, ...]], ...]

    @property
    def open(self) -> int:
        """Pass-offs that are still to come."""
        cells = (cell for _, row in self.rows for cell in row)
        return sum(cell is not None and cell.passed is None for cell in cells)


def _asked(season: Season, rows: Iterable[Excerpt]) -> dict[int, list[Excerpt]]:
    """Member id -> what they have to pass, by their main part."""
    listed = list(rows)
    found: dict[int, list[Excerpt]] = defaultdict(list)
    mains = Qualification.objects.filter(member__season=season, main=True)
    for member, part, instrument in mains.values_list("member", "part", "part__instrument"):
        for excerpt in listed:
            if excerpt.part_id not in (None, part) or excerpt.instrument_id not in (
                None,
                instrument,
            ):
                continue
            found[member].append(excerpt)
    return found


def _heard(season: Season, members: Collection[int]) -> dict[tuple[int, int], list[Hearing]]:
    found: dict[tuple[int, int], list[Hearing]] = defaultdict(list)
    rows = Hearing.objects.filter(excerpt__season=season, member__in=members)
    for hearing in rows.select_related("heard_by"):
        found[hearing.member_id, hearing.excerpt_id].append(hearing)
    return found


def board_of(season: Season, instrument: Instrument) -> Board:
    """An instrument's board, by name."""
    asked = _asked(season, excerpts(season))
    members = list(
        active_members(season)
        .filter(qualifications__main=True, qualifications__part__instrument=instrument)
        .distinct()
    )
    heard = _heard(season, [m.pk for m in members])
    columns = [e for e in excerpts(season) if any(e in asked[m.pk] for m in members)]
    return Board(
        tuple(columns),
        tuple(
            (
                m,
                tuple(
                    _passing(m, e, heard[m.pk, e.pk]) if e in asked[m.pk] else None for e in columns
                ),
            )
            for m in members
        ),
    )


def _passing(member: Member, excerpt: Excerpt, hearings: list[Hearing]) -> Passing:
    passed = next((h for h in hearings if h.passed), None)
    return Passing(member, excerpt, len(hearings), passed)


def passings_of(member: Member) -> list[Passing]:
    """What one member has to pass."""
    asked = _asked(member.season, excerpts(member.season))[member.pk]
    heard = _heard(member.season, [member.pk])
    return [_passing(member, e, heard[member.pk, e.pk]) for e in asked]


def not_passed(season: Season, by: datetime.date) -> dict[int, list[Excerpt]]:
    """Member id -> excerpts that were to be passed by a day and are not."""
    due = excerpts(season).filter(due__isnull=False, due__lte=by)
    asked = _asked(season, due)
    if not asked:
        return {}
    passed = set(
        Hearing.objects.filter(Q(passed=True), excerpt__in=due).values_list("member", "excerpt")
    )
    found = {
        member: [e for e in rows if (member, e.pk) not in passed] for member, rows in asked.items()
    }
    return {member: rows for member, rows in found.items() if rows}
