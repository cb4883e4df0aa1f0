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
from roster.people.queries import active_members

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
    rng = random.Random(SEED)  # noqa: S311 - a repeatable demo, not a secret
    due = season.starts + DUE
    instruments = queries.instruments(season).filter(name__in=WINDS)
    with recorded(actor, "save excerpt"):
        excerpts = {
            it.pk: Excerpt.objects.create(
                season=season,
                name=f"Opener, bars 1 to 32: {it.name.lower()}",
                instrument=it,
                due=due,
                order=order,
            )
            for order, it in enumerate(instruments, 1)
        }
    theirs = (
        active_members(season)
        .filter(qualifications__main=True, qualifications__part__instrument__in=excerpts)
        .values_list("pk", "qualifications__part__instrument")
    )
    pairs = [(member, excerpts[instrument]) for member, instrument in sorted(theirs)]
    late = set(rng.sample(range(len(pairs)), NOT_PASSED))
    twice = set(rng.sample(range(len(pairs)), HEARD_TWICE)) | late
    rows = []
    for n, (member, excerpt) in enumerate(pairs):
        heard = [False] * (n in twice) + [True] * (n not in late)
        for which, passed in enumerate(heard):
            day = due - datetime.timedelta(days=7 - which * 3 - rng.randrange(3))
            rows.append(
                Hearing(
                    excerpt=excerpt,
                    member_id=member,
                    passed=passed,
                    heard_by=actor,
                    heard_at=datetime.datetime.combine(
                        day, datetime.time(17, 20 + n % 30), tzinfo=season.zone
                    ),
                    key=uuid.UUID(int=rng.getrandbits(128)),
                )
            )
    with recorded(actor, "note music heard"):
        Hearing.objects.bulk_create(rows, batch_size=200)
    return len(rows)
