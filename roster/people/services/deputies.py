"""Deputies: staff who have the director's rights for a few days."""

from __future__ import annotations

import datetime

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import Role
from roster.people.models import Deputy, RoleGrant, Season

LONGEST = 14
"""days: whoever leads the band for longer is given the role"""


def name_deputy(
    *, actor: User, season: Season, user: User, starts: datetime.date, ends: datetime.date
) -> Deputy:
    """Give a staff member the director's rights from one day through another.

    Refused unless a director in person asks, so that no deputy names another.
    """
    grants = RoleGrant.objects.filter(season=season)
    if not grants.filter(user=actor, role=Role.DIRECTOR).exists():
        raise Refused("Only the director names a deputy.")
    if not grants.filter(user=user, role=Role.STAFF).exists():
        raise Refused(f"{user} is not on the staff this season.")
    if grants.filter(user=user, role=Role.DIRECTOR).exists():
        raise Refused(f"{user} is already a director.")
    if ends < season.today():
        raise Refused("That day has passed: choose another.")
    if (ends - starts).days >= LONGEST:
        raise Refused(f"A deputy serves {LONGEST} days at most.")
    deputy = Deputy(season=season, user=user, named_by=actor, starts=starts, ends=ends)
    deputy.full_clean()
    with recorded(actor, "name deputy"):
        deputy.save()
    return deputy


def end_deputy(*, actor: User, deputy: Deputy) -> None:
    """The deputy's rights end now."""
    with recorded(actor, "end deputy's rights"):
        deputy.delete()
