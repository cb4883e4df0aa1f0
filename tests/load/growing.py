"""What lists cost for bands of 1,000 and 5,000 members, in a process that serves itself."""

from __future__ import annotations

import datetime
import gc
import statistics
import time
from collections.abc import Iterator

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from roster.people.enums import Role
from roster.people.models import Instrument, Member, Part, Person, Qualification, RoleGrant, Season
from roster.ranks.models import Holding, Rank, Spot

SIZES = (1_000, 5_000)
PAGES = ("people", "ranks", "alternates", "sizes", "absences", "api-members", "api-spots")
READINGS = 5


def grown(count: int) -> Season:
    """A band of so many members, twelve to a rank, each on a spot."""
    today = timezone.localdate()
    season = Season.objects.create(
        name=f"{count}",
        band_name="Load",
        starts=today - datetime.timedelta(days=30),
        ends=today + datetime.timedelta(days=60),
    )
    horn = Instrument.objects.create(season=season, name="Horn")
    part = Part.objects.create(season=season, instrument=horn, name="Horn", code=f"horn-{count}")
    people = [Person(legal_name=f"Load {count} {n:04}") for n in range(count)]
    for person in people:
        person.derive()
    Person.objects.bulk_create(people)
    members = Member.objects.bulk_create(Member(person=p, season=season) for p in people)
    Qualification.objects.bulk_create(
        Qualification(member=m, part=part, main=True) for m in members
    )
    ranks = Rank.objects.bulk_create(
        Rank(season=season, label=f"{n + 1}", order=n) for n in range(-(-count // 12))
    )
    spots = Spot.objects.bulk_create(
        Spot(rank=ranks[n // 12], number=n % 12 + 1, part=part) for n in range(count)
    )
    Holding.objects.bulk_create(
        Holding(spot=s, member=m, starts=season.starts) for s, m in zip(spots, members, strict=True)
    )
    return season


def costs(season: Season) -> Iterator[tuple[str, float, int]]:
    """Page, seconds (the median), queries."""
    Season.objects.update(is_current=False)
    Season.objects.filter(pk=season.pk).update(is_current=True)
    user, _ = User.objects.get_or_create(email="load@load.example", defaults={"name": "Load"})
    RoleGrant.objects.get_or_create(user=user, season=season, role=Role.DIRECTOR)
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    for name in ("offline", *PAGES):
        taken = []
        gc.collect()
        gc.disable()  # its passes go over both bands, which no page of one band does
        try:
            for _ in range(READINGS):
                start = time.perf_counter()
                answer = client.get(reverse(name))
                taken.append(time.perf_counter() - start)
                assert answer.status_code == 200, name
        finally:
            gc.enable()
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse(name))
        yield name, statistics.median(taken), len(asked)


def report() -> None:
    """Each page at both sizes: how many times an empty page, and by which power of the rows."""
    at = [{n: (s, q) for n, s, q in costs(grown(size))} for size in SIZES]
    steps = SIZES[1] / SIZES[0]
    for name in PAGES:
        (small, few), (large, many) = at[0][name], at[1][name]
        empty = at[1]["offline"][0]
        growth = large / small
        kind = "flat" if growth < 1.5 else "linear" if growth < 1.5 * steps else "TOO STEEP"
        print(
            f"  {name:14} {small / empty:7.1f} {large / empty:7.1f} times an empty page, "
            f"x{growth:.1f} for x{steps:.0f} rows: {kind}; queries {few}, {many}"
        )


report()
