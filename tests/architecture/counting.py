"""How often a page asks the database."""

from __future__ import annotations

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.events.models import Event, Segment
from drill.rehearsals.models import RehearsalBlock
from tests.architecture.many import add_drill, add_games, add_records, keep_word, write_lineup
from tests.architecture.world import World, make_world
from tests.factories import Band, Cast

EARLIER = 6
"""the game before all others, so that pages of the next event are of the same one throughout"""


def counted_world(band: Band, cast: Cast) -> World:
    """One row of every kind: none at all may save a page a query."""
    made = make_world(band, cast.staff, cast.member)
    earlier_lineup(band, cast)
    add_drill(add_games(band, cast, EARLIER), ["1-1"])
    add_records(band, cast, 1)
    keep_word(band, "Tpt")
    Absence.objects.create(member=made.member, event=made.event, kind=AbsenceKind.OUT)
    add_drill(made.show, ["1-1", "1-2", "1-3"], sets=3)
    for rehearsal in Event.objects.filter(kind="rehearsal", blocks=None):
        RehearsalBlock.objects.create(
            event=rehearsal, starts="08:00", ends="09:00", what="Early", show=made.show
        )
    return made


def earlier_lineup(band: Band, cast: Cast) -> None:
    """Something was published before, and has its record."""
    before = Event.objects.create(
        season=band.season,
        name="Before",
        kind="rehearsal",
        date=band.season.starts,
        time_zone=band.event.time_zone,
    )
    Segment.objects.create(
        event=before, order=1, name="Run", kind="halftime", starts="10:00", ends="11:00"
    )
    write_lineup(before, cast.staff, 1)


def asked(client: Client, url: str, warm: bool = True) -> list[str]:
    """The queries of a page, once everything that is remembered has been read."""
    if warm:
        client.get(url)
    with CaptureQueriesContext(
        connection,
    ) as context:
        assert client.get(url).status_code == 200, url
    return [query["sql"] for query in context.captured_queries]


def more(before: list[str], after: list[str]) -> str:
    """The queries that came on top, for the failure's message."""
    shapes = [sql.split("WHERE")[0][:160] for sql in before]
    extra = []
    for sql in after:
        shape = sql.split("WHERE")[0][:160]
        if shape in shapes:
            shapes.remove(shape)
        else:
            extra.append(sql[:300])
    return "\n".join(extra[:4])
