"""The demo's music: an excerpt for each wind instrument, passed by all but a few."""

from __future__ import annotations

import datetime
import random
import uuid

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from roster.music.models import Excerpt, Hearing
from roster.people import queries
from roster.people.models import Season

SEED = 20_260_914
WINDS = (
    "Piccolo",
    "Clarinet",
    "Alto saxophone",
    "Tenor saxophone",
    "Trumpet",
    "Mellophone",
    "Trombone",
    "Baritone",
    "Sousaphone",
)
DUE = datetime.timedelta(days=35)
"""after the season's first day"""
NOT_PASSED, HEARD_TWICE = 6, 25


def hear(actor: User, season: Season) -> int:
    """Excerpts and who played them; how many hearings."""
    excerpts = _excerpts(actor, season)
    theirs = (
        queries.active_members(season)
        .filter(qualifications__main=True, qualifications__part__instrument__in=excerpts)
        .values_list("pk", "qualifications__part__instrument")
    )
    pairs = [(member, excerpts[instrument]) for member, instrument in sorted(theirs)]
    rng = random.Random(SEED)  # noqa: S311 - a repeatable demo, not a secret
    heard_twice = rng.sample(range(len(pairs)), HEARD_TWICE)
    not_passed = set(heard_twice[:NOT_PASSED])
    rows = [
        _hearing(actor, season, rng, member, excerpt, passed=n not in not_passed)
        for n, (member, excerpt) in enumerate(pairs)
    ]
    rows += [_hearing(actor, season, rng, *pairs[n], passed=False) for n in heard_twice]
    with recorded(actor, "note music heard"):
        Hearing.objects.bulk_create(rows, batch_size=200)
    return len(rows)


def _excerpts(actor: User, season: Season) -> dict[int, Excerpt]:
    """Instrument (id) -> its excerpt."""
    with recorded(actor, "save excerpt"):
        return {
            it.pk: Excerpt.objects.create(
                season=season,
                name=f"Opener, bars 1 to 32: {it.name.lower()}",
                instrument=it,
                due=season.starts + DUE,
                order=order,
            )
            for order, it in enumerate(queries.instruments(season).filter(name__in=WINDS), 1)
        }


def _hearing(
    actor: User, season: Season, rng: random.Random, member: int, excerpt: Excerpt, *, passed: bool
) -> Hearing:
    """In the week before it is due; whoever did not pass was heard in its first days."""
    before = rng.randint(1, 4) if passed else rng.randint(5, 7)
    at = datetime.time(17, rng.randint(20, 50))
    day = season.starts + DUE - datetime.timedelta(days=before)
    return Hearing(
        excerpt=excerpt,
        member_id=member,
        passed=passed,
        heard_by=actor,
        heard_at=datetime.datetime.combine(day, at, tzinfo=season.zone),
        key=uuid.UUID(int=rng.getrandbits(128)),
    )
