"""The search page: what its links lead to, what it leaves out, and how often it asks."""

from __future__ import annotations

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drill.events.models import Event
from drill.lineup.models import Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from roster.people.models import Member, Person
from tests.architecture.many import add_rank, grow, write_lineup
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast
from tests.lib.search_pages import published, rows, text_of

__all__ = ["published"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("text is searched and sorted")]


def test_a_draft_is_not_found(published: Band, cast: Cast) -> None:
    """Jon is pinned to Cai's spot in the draft only."""
    band = published
    Pin.objects.create(event=band.event, spot=band.spots["1-3"], member=band.members["Jon Pell"])
    draft = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    assert draft.rows.filter(member=band.members["Jon Pell"]).exists()
    for role in ("member", "other"):
        assert not rows(client_of(cast, role), "jon pell")
    publish(band, cast.staff, 1)
    assert rows(client_of(cast, "other"), "jon pell") == {"Jon Pell": "", "1-3": ""}


def test_of_several_lineups_the_next_one_counts(published: Band, cast: Cast) -> None:
    band, day = published, published.event.date
    later = Event.objects.create(
        season=band.season,
        name="Tallow Creek",
        date=day + datetime.timedelta(days=7),
        time_zone="America/Chicago",
    )
    for segment in band.event.segments.all():
        segment.pk, segment.event = None, later
        segment.save()
    lineup = write_lineup(later, cast.staff, 1)
    assert lineup.rows.exists()
    past = later.date + datetime.timedelta(days=9)
    for today, event in ((day, band.event), (later.date, later), (past, later)):
        morning = datetime.datetime.combine(today, datetime.time(8), band.event.zone)
        with time_machine.travel(morning, tick=False):
            client = client_of(cast, "other")
            assert f"1-3, Rank 1: {event}" in text_of(client, "cai")
            assert list(rows(client, "tallow")) == ["Tallow Creek"]


def test_every_link_opens_for_the_role_that_finds_it(published: Band, cast: Cast) -> None:
    typed = ("cai", "hal", "rank", "1-3", "2-3", "pellowick", "tidewheel", "trumpet", "nunez")
    seen = 0
    for role in ("director", "staff", "equipment", "leader", "member", "other"):
        client = client_of(cast, role)
        for url in {url for text in typed for url in rows(client, text).values() if url}:
            assert client.get(url).status_code == 200, (role, url)
            seen += 1
    assert seen > 20


def test_another_season_is_not_found(published: Band, cast: Cast) -> None:
    season = published.season
    former = type(season).objects.create(
        name="2098", band_name="Q", starts="2098-08-01", ends="2098-12-01"
    )
    Event.objects.create(season=former, name="Old Game", date="2098-10-01", time_zone="UTC")
    Member.objects.create(season=former, person=Person.objects.create(legal_name="Olive Oldham"))
    for typed in ("old game", "olive", "oldham"):
        assert not rows(client_of(cast, "staff"), typed), typed


def test_the_box_in_the_header_leads_here(band: Band, cast: Cast) -> None:
    for role in ("staff", "leader", "member", "equipment"):
        page = client_of(cast, role).get(reverse("me")).content.decode()
        assert 'role="search" aria-label="Everything" action="/search/"' in page
    for role in ("outsider", "visitor"):
        page = client_of(cast, role).get(reverse("me"), follow=True).content.decode()
        assert "/search/" not in page


def test_what_was_typed_is_shown_as_text(band: Band, cast: Cast) -> None:
    typed = '"><script>alert(1)</script>\0' + "x" * 500
    page = client_of(cast, "staff").get(reverse("search"), {"q": typed}).content.decode()
    assert "<script>alert" not in page and "\0" not in page and "x" * 101 not in page


@pytest.mark.parametrize("role", ["staff", "equipment", "leader", "member"])
def test_a_search_asks_as_often_for_more_rows(band: Band, cast: Cast, role: str) -> None:
    lineup = publish(band, cast.staff)
    client = client_of(cast, role)

    def asked() -> int:
        with CaptureQueriesContext(connection) as context:
            text_of(client, "a")
        return len(context.captured_queries)

    asked()
    before = asked()
    grow(band, cast, lineup)
    add_rank(band, 12)
    assert asked() == before <= 18
