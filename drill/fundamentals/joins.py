"""What tryouts ask of fundamentals, and what the next season has of them."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from bandops.lib.accounts.models import User
from drill.fundamentals.models import Abbreviation, Fundamental
from drill.fundamentals.services.fundamentals import fundamentals_of, note_tryout_passed
from roster.people.models import Season
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER
from roster.tryouts.ties import FUNDAMENTALS, SEATED


@FUNDAMENTALS.join
def names(season: Season) -> dict[str, str]:
    return {code: it.name for code, it in fundamentals_of(season).items()}


@SEATED.join
def note_passed(
    actor: User, season: Season, on: datetime.date, passed: Mapping[int, frozenset[str]]
) -> None:
    note_tryout_passed(actor=actor, season=season, on=on, passed=passed)


@CARRY_OVER.join
def copy_fundamentals(carried: Carried) -> None:
    """The band's own movements and abbreviations; who passed what is of the year."""
    copies(Fundamental.objects.filter(season=carried.old), season=carried.new)
    copies(Abbreviation.objects.filter(season=carried.old), season=carried.new)
