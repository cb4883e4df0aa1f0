"""Seasons and roles."""

from __future__ import annotations

import datetime
from typing import Any

from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import Role
from roster.people.models import RoleGrant, Season


def start_season(
    *,
    actor: User | None,
    name: str,
    band_name: str,
    starts: datetime.date,
    ends: datetime.date,
    time_zone: str,
) -> Season:
    """A new season, made the current one."""
    season = Season(name=name, band_name=band_name, starts=starts, ends=ends, time_zone=time_zone)
    season.full_clean()
    with recorded(actor, "start season"):
        Season.objects.filter(is_current=True).update(is_current=False)
        season.is_current = True
        season.save()
    return season


def change_season(*, actor: User, season: Season, values: dict[str, Any]) -> Season:
    """Change a season's dates and choices."""
    for name, value in values.items():
        setattr(season, name, value)
    season.full_clean()
    with recorded(actor, "change season"):
        season.save()
    return season


def grant_role(*, actor: User | None, season: Season, email: str, name: str, role: Role) -> User:
    """Give an account (made when new) a role for the season."""
    with recorded(actor, "give role"):
        user = User.objects.filter(email=clean_email(email)).first()
        if user is None:
            user = User.objects.create_user(email, name)
        RoleGrant.objects.get_or_create(user=user, season=season, role=role)
    return user


def revoke_role(*, actor: User, grant: RoleGrant) -> None:
    """Take a role away; the last director stays."""
    with recorded(actor, "take role away"):
        directors = RoleGrant.objects.select_for_update().filter(
            season=grant.season, role=Role.DIRECTOR
        )
        if grant.role == Role.DIRECTOR and len(directors) == 1:
            raise Refused("A season needs a director: name another one first.")
        grant.delete()
