"""Seasons and roles."""

from __future__ import annotations

import datetime
from typing import Any

from django.db.models import Q

from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import MemberStatus, Role
from roster.people.models import Deputy, Member, RoleGrant, Season
from roster.people.ties import SEASON_CHANGED


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


def without_access(shown: Season, other: Season) -> int:
    """How many who use the site now cannot while ``other`` is shown: members and staff."""

    def accounts(season: Season) -> set[int]:
        members = Member.objects.filter(season=season, person__user__isnull=False)
        members = members.exclude(status=MemberStatus.LEFT)
        roles = RoleGrant.objects.filter(season=season).values_list("user", flat=True)
        return set(members.values_list("person__user", flat=True)) | set(roles)

    return len(accounts(shown) - accounts(other))


def make_current(*, actor: User, season: Season) -> None:
    """Have the pages show another season again, earlier or later: nothing in either is changed.

    Whoever goes back directs the earlier one, too, and whoever directs the later one comes back to
    it: nobody is made director of it by having directed before. Everybody else has the roles they
    have in it. Refused for the season that is current.
    """
    with recorded(actor, "make season current"):
        old = Season.objects.select_for_update().filter(is_current=True).first()
        if old is not None and old.pk == season.pk:
            raise Refused(f"{season} is the current season already.")
        grants = RoleGrant.objects.filter(season=season, role=Role.DIRECTOR)
        if old is not None and season.starts > old.starts and not grants.filter(user=actor):
            names = ", ".join(sorted(str(grant.user) for grant in grants.select_related("user")))
            raise Refused(f"Only whoever directs {season} shows it: {names or 'nobody does'}.")
        Season.objects.filter(is_current=True).update(is_current=False)
        season.is_current = True
        season.save(update_fields=["is_current"])
        RoleGrant.objects.get_or_create(user=actor, season=season, role=Role.DIRECTOR)
        SEASON_CHANGED.ask(season)


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


def hand_over(*, actor: User, season: Season, user: User, stays: bool) -> None:
    """Somebody of the staff directs the band from now on instead of the actor, who stays on the
    staff if ``stays``; in earlier seasons, too, which may be shown again, and the deputies they
    named end. Refused unless the actor directs it in person and the other is on the staff."""
    with recorded(actor, "hand over"):
        Season.objects.select_for_update().get(pk=season.pk)
        grants = RoleGrant.objects.filter(season=season)
        if not grants.filter(user=actor, role=Role.DIRECTOR).exists():
            raise Refused("Only the director hands the band over.")
        if user == actor or not grants.filter(user=user, role=Role.STAFF).exists():
            raise Refused(f"{user} is not on the staff this season.")
        if not user.is_active:
            raise Refused(f"The account of {user} is closed.")
        all_mine = RoleGrant.objects.filter(user=actor, role=Role.DIRECTOR)
        for grant in list(all_mine):
            RoleGrant.objects.get_or_create(user=user, season=grant.season, role=Role.DIRECTOR)
            if stays:
                RoleGrant.objects.get_or_create(user=actor, season=grant.season, role=Role.STAFF)
            grant.delete()
        to_come = Deputy.objects.filter(season=season, ends__gte=season.today())
        to_come.filter(Q(user=user) | Q(named_by=actor)).delete()


def revoke_role(*, actor: User, grant: RoleGrant) -> None:
    """Take a role away; the last director stays."""
    with recorded(actor, "take role away"):
        directors = RoleGrant.objects.select_for_update().filter(
            season=grant.season, role=Role.DIRECTOR
        )
        if grant.role == Role.DIRECTOR and len(directors) == 1:
            raise Refused("A season needs a director: name another one first.")
        grant.delete()
