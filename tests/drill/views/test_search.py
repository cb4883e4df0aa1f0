"""What each reader finds, and where it leads them."""

from __future__ import annotations

import datetime
import html
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drill.models import Event, Pin
from drill.services.lineups import open_draft, take_proposal
from roster.enums import Role
from roster.models import Member, Person, RoleGrant
from tests.architecture.many import add_rank, grow, write_lineup
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("text is searched and sorted")]

ROW = re.compile(r'<li>(?:<a href="([^"]*)">|<strong>)(.*?)</(?:a|strong)>(.*?)</li>', re.S)


def text_of(client: Client, typed: str) -> str:
    response = client.get(reverse("search"), {"q": typed})
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def rows(client: Client, typed: str) -> dict[str, str]:
    """What is found -> where it leads; the labels of things must differ."""
    main = text_of(client, typed).partition("<main")[2]
    return {label: url for url, label, _ in ROW.findall(main)}


def headings(client: Client, typed: str) -> list[str]:
    return re.findall(r"<h2>(.*?)</h2>", text_of(client, typed))


@pytest.fixture
def published(band: Band, cast: Cast) -> Band:
    """Hal's seat was given to nobody else: everybody stands at home."""
    publish(band, cast.staff)
    return band


def test_staff_find_everything_and_get_to_its_page(published: Band, cast: Cast) -> None:
    band, client = published, client_of(cast, "staff")
    cai, event, part = band.members["Cai Ørnberg"], band.event, band.parts["sousaphone"]
    show = band.pregame.show
    assert show is not None
    assert rows(client, "ornberg cai") == {
        "Cai Ørnberg": reverse("member", args=[cai.pk]),
        "1-3": reverse("spot", args=[band.spots["1-3"].pk]),
    }
    assert rows(client, "rank 2") == {"Rank 2": reverse("rank", args=[band.ranks["2"].pk])}
    assert rows(client, "brakenfield") == {
        "Brackenfield at home": reverse("event", args=[event.pk])
    }
    assert rows(client, "tidewheel") == {"Tidewheel": reverse("show", args=[show.pk])}
    assert headings(client, "sousaphone") == ["Instruments (1)", "Parts (1)", "Spots (1)"]
    found = rows(client, "sousaphone")
    assert found["2-3"] == reverse("spot", args=[band.spots["2-3"].pk])
    assert found["Sousaphone"] == reverse("part-edit", args=[part.pk])
    assert rows(client, "1-3") == {"1-3": reverse("spot", args=[band.spots["1-3"].pk])}


def test_staff_find_by_student_number_and_legal_name(band: Band, cast: Cast) -> None:
    person = band.members["Cai Ørnberg"].person
    person.legal_name, person.used_name = "Caspian Formerly", "Cai Ørnberg"
    person.save()
    number = person.student_number
    for role in ("director", "staff"):
        for typed in (number, number.lstrip("0"), "caspian", "formerly cai"):
            assert list(rows(client_of(cast, role), typed)) == ["Cai Ørnberg"], typed
    for role in ("gear", "leader", "member", "other", "evaluator"):
        for typed in (number, number.lstrip("0"), "caspian", "Formerly"):
            assert not rows(client_of(cast, role), typed), (role, typed)


def test_a_slip_is_said_to_be_one(band: Band, cast: Cast) -> None:
    client = client_of(cast, "staff")
    text = text_of(client, "larkspru")
    assert "Nothing is spelled “larkspru”. These are close to it:" in text
    assert list(rows(client, "larkspru")) == ["Bo Larkspur", "1-2"]
    band.member("Bo Larkspru", "trumpet")
    text = text_of(client, "larkspru")
    assert "Nothing is spelled" not in text
    assert text.count('<span class="tag">close</span>') == 2
    assert "Nothing is found for “xyzzy”" in text_of(client, "xyzzy")


def test_the_gear_manager_finds_names_and_dates(published: Band, cast: Cast) -> None:
    client = client_of(cast, "gear")
    assert rows(client, "nunez") == {"Ana Núñez": reverse("sizes")}
    assert rows(client, "brackenfield") == {"Brackenfield at home": ""}
    for typed in ("tidewheel", "trumpet", "rank 1", "1-1"):
        assert not rows(client, typed), typed


def test_an_evaluator_is_told_that_there_is_nothing(published: Band, cast: Cast) -> None:
    client = client_of(cast, "evaluator")
    text = text_of(client, "Cai")
    assert "candidates are known by their numbers" in text
    assert not rows(client, "Cai") and "<form class" not in text.partition("<main")[2]
    assert "Search everything" not in text
    RoleGrant.objects.create(user=cast.evaluator, season=published.season, role=Role.GEAR_MANAGER)
    assert list(rows(client, "Cai")) == ["Cai Ørnberg"]


def test_a_leader_finds_the_own_rank_before_anything_is_published(band: Band, cast: Cast) -> None:
    client, mine = client_of(cast, "leader"), reverse("my-rank")
    assert rows(client, "ida voss") == {"Ida Voss": mine}
    assert rows(client, "larkspur") == {"Bo Larkspur": mine, "1-2": mine}
    assert rows(client, "rank") == {"Rank 1": mine}
    assert rows(client, "nunez") == {"Ana Núñez": reverse("card"), "1-1": reverse("card")}
    for typed in ("kit moss", "hal brook", "2-3", "brackenfield", "tidewheel"):
        assert not rows(client, typed), typed


def test_a_leader_finds_of_other_ranks_what_is_published(published: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    assert rows(client, "hal brook") == {"Hal Brook": "", "2-3": ""}
    assert rows(client, "larkspur")["Bo Larkspur"] == reverse("my-rank")
    assert not rows(client, "kit moss"), "an alternate who stands by is in no published row"


def test_a_member_finds_themselves_and_nobody_before_anything_is_published(
    band: Band, cast: Cast
) -> None:
    client, card = client_of(cast, "member"), reverse("card")
    assert rows(client, "cai") == {"Cai Ørnberg": card, "1-3": card}
    open_draft(actor=cast.staff, event=band.event)
    for typed in ("nunez", "1-1", "brackenfield", "rank 1", "trumpet 1-2", "ida"):
        assert not rows(client, typed), typed


def test_a_member_finds_what_is_published(published: Band, cast: Cast) -> None:
    client = client_of(cast, "member")
    assert rows(client, "brook") == {"Hal Brook": "", "2-3": ""}
    assert "2-3, Rank 2: Brackenfield at home" in text_of(client, "brook")
    assert rows(client, "2-3") == {"2-3": ""}
    assert rows(client, "cai") == dict.fromkeys(("Cai Ørnberg", "1-3"), reverse("card"))
    card_of = reverse("card-of", args=[published.event.pk])
    assert rows(client, "brackenfield") == {"Brackenfield at home": card_of}
    for typed in ("ida voss", "kit moss", "tidewheel", "rank 2"):
        assert not rows(client, typed), typed
    for url in {card_of, reverse("card")}:
        assert client.get(url).status_code == 200


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


def test_of_several_lineups_the_next_one_counts(
    published: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
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
    client = client_of(cast, "other")
    for today, event in ((day, "Brackenfield at home"), (later.date, "Tallow Creek")):
        monkeypatch.setattr("django.utils.timezone.localdate", lambda today=today: today)
        assert f"1-3, Rank 1: {event}" in text_of(client, "cai")
    past = later.date + datetime.timedelta(days=9)
    monkeypatch.setattr("django.utils.timezone.localdate", lambda: past)
    assert "1-3, Rank 1: Tallow Creek" in text_of(client, "cai")
    assert list(rows(client, "tallow")) == ["Tallow Creek"]


def test_one_person_with_two_roles_finds_each_thing_once(published: Band, cast: Cast) -> None:
    season = published.season
    RoleGrant.objects.create(user=cast.member, season=season, role=Role.GEAR_MANAGER)
    client = client_of(cast, "member")
    main = text_of(client, "cai").partition("<main")[2]
    assert main.count(">Cai Ørnberg<") == 1
    assert rows(client, "ida voss") == {"Ida Voss": reverse("sizes")}


def test_every_link_opens_for_the_role_that_finds_it(published: Band, cast: Cast) -> None:
    typed = ("cai", "hal", "rank", "1-3", "2-3", "brackenfield", "tidewheel", "trumpet", "nunez")
    seen = 0
    for role in ("director", "staff", "gear", "leader", "member", "other"):
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
    for role in ("staff", "leader", "member", "gear"):
        page = client_of(cast, role).get(reverse("me")).content.decode()
        assert 'role="search" aria-label="Everything" action="/search/"' in page
    for role in ("outsider", "visitor"):
        page = client_of(cast, role).get(reverse("me"), follow=True).content.decode()
        assert "/search/" not in page


def test_what_was_typed_is_shown_as_text(band: Band, cast: Cast) -> None:
    typed = '"><script>alert(1)</script>\0' + "x" * 500
    page = client_of(cast, "staff").get(reverse("search"), {"q": typed}).content.decode()
    assert "<script>alert" not in page and "\0" not in page and "x" * 101 not in page


@pytest.mark.parametrize("role", ["staff", "gear", "leader", "member"])
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
