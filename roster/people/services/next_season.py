"""The next season, set up like this one: what lasts is copied, what is of the year is not."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.db.models import Model

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import MemberStatus, Standing
from roster.people.models import (
    Instrument,
    KeptWord,
    Member,
    Part,
    Qualification,
    RoleGrant,
    Season,
)
from roster.people.models.people import MOST_YEARS
from roster.people.ties import CARRY_OVER

M = TypeVar("M", bound=Model)


@dataclass(frozen=True)
class Wanted:
    """What the next season is called, when it is, and what comes along."""

    name: str
    starts: datetime.date
    ends: datetime.date
    members: bool = False
    holders: bool = False
    roles: bool = True


@dataclass(frozen=True)
class Carried:
    """What has been copied so far: the new row of each old one, by its number."""

    old: Season
    new: Season
    wanted: Wanted
    instruments: dict[int, Instrument] = field(default_factory=dict)
    parts: dict[int, Part] = field(default_factory=dict)
    members: dict[int, Member] = field(default_factory=dict)


def copies(rows: Iterable[M], **changed: Any) -> dict[int, M]:
    """A new row of each, with some columns changed, by the old one's number."""
    found: dict[int, M] = {}
    for row in rows:
        number = row.pk
        row.pk, row._state.adding = None, True
        for name, value in changed.items():
            setattr(row, name, value)
        row.save()
        found[number] = row
    return found


def start_next_season(*, actor: User, season: Season, wanted: Wanted) -> Carried:
    """Copy the season's set-up into a new one, which becomes the current one; wholly or not at
    all. Refused for dates that do not come after, or a name that there is."""
    if wanted.starts <= season.starts:
        raise Refused("The next season starts after this one.")
    if Season.objects.filter(name=wanted.name).exists():
        raise Refused(f"There is a season {wanted.name} already.")
    with recorded(actor, "start season"):
        old = Season.objects.select_for_update().get(pk=season.pk)
        if not old.is_current:
            raise Refused("Somebody just started another season: look at it first.")
        new = _new_season(old, wanted)
        carried = Carried(old, new, wanted)
        _copy_parts(carried)
        if wanted.members:
            _copy_members(carried)
        _copy_roles(carried, actor)
        CARRY_OVER.ask(carried)
    return carried


def _new_season(old: Season, wanted: Wanted) -> Season:
    Season.objects.filter(is_current=True).update(is_current=False)
    (new,) = copies(
        [Season.objects.get(pk=old.pk)],
        name=wanted.name,
        starts=wanted.starts,
        ends=wanted.ends,
        is_current=True,
    ).values()
    new.full_clean()
    return new


def _copy_parts(carried: Carried) -> None:
    old, new = carried.old, carried.new
    carried.instruments.update(copies(Instrument.objects.filter(season=old), season=new))
    for part in Part.objects.filter(season=old):
        instrument = carried.instruments[part.instrument_id]
        carried.parts.update(copies([part], season=new, instrument=instrument))
    copies(KeptWord.objects.filter(season=old), season=new)


def _copy_members(carried: Carried) -> None:
    """Whoever is in the band, be it on leave, comes along with their parts, and with a year more
    if they marched; clearance and eligibility do not: they are said anew each year."""
    for member in Member.objects.filter(season=carried.old).exclude(status=MemberStatus.LEFT):
        skills = list(Qualification.objects.filter(member=member.pk).order_by("pk"))
        made = copies(
            [member],
            season=carried.new,
            years_marched=_years_after(member),
            cleared=Standing.NO,
            cleared_until=None,
            cleared_by="",
            eligible=Standing.NO,
            eligible_until=None,
        )
        carried.members.update(made)
        (new,) = made.values()
        for skill in skills:
            copies([skill], member=new, part=carried.parts[skill.part_id])


def _years_after(member: Member) -> int:
    """A year on leave is none marched."""
    marched = member.status == MemberStatus.ACTIVE
    return min(member.years_marched + marched, MOST_YEARS)


def _copy_roles(carried: Carried, actor: User) -> None:
    """Whoever starts the season directs it; others keep their roles where that is wanted."""
    grants = RoleGrant.objects.filter(season=carried.old)
    copies(grants if carried.wanted.roles else grants.filter(user=actor), season=carried.new)
