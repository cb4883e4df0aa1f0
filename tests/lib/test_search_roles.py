"""What each role finds."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from drill.lineup.services.drafts import open_draft
from roster.people.enums import Role
from roster.people.models import RoleGrant
from tests.architecture.world import client_of
from tests.factories import Band, Cast
from tests.lib.search_pages import published, rows, text_of

__all__ = ["published"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("text is searched and sorted")]


def headings(client: Client, typed: str) -> list[str]:
    return re.findall(r"<h2>(.*?)</h2>", text_of(client, typed))


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
    assert rows(client, "pelowick") == {"Pellowick at home": reverse("event", args=[event.pk])}
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
    for role in ("equipment", "leader", "member", "other", "evaluator"):
        for typed in (number, number.lstrip("0"), "caspian", "Formerly"):
            assert not rows(client_of(cast, role), typed), (role, typed)


def test_a_slip_is_said_to_be_one(band: Band, cast: Cast) -> None:
    client = client_of(cast, "staff")
    text = text_of(client, "larkspru")
    assert "Nothing is spelled “larkspru”. These are close:" in text
    assert list(rows(client, "larkspru")) == ["Bo Larkspur", "1-2"]
    band.member("Bo Larkspru", "trumpet")
    text = text_of(client, "larkspru")
    assert "Nothing is spelled" not in text
    assert text.count('<span class="tag">close</span>') == 2
    assert "Nothing found for “xyzzy”" in text_of(client, "xyzzy")


def test_the_equipment_manager_finds_names_and_dates(published: Band, cast: Cast) -> None:
    client = client_of(cast, "equipment")
    assert rows(client, "nunez") == {"Ana Núñez": reverse("sizes")}
    assert rows(client, "pellowick") == {"Pellowick at home": ""}
    for typed in ("tidewheel", "trumpet", "rank 1", "1-1"):
        assert not rows(client, typed), typed


def test_an_evaluator_is_told_that_there_is_nothing(published: Band, cast: Cast) -> None:
    client = client_of(cast, "evaluator")
    text = text_of(client, "Cai")
    assert "candidates go by number" in text
    assert not rows(client, "Cai") and "<form class" not in text.partition("<main")[2]
    assert "Search everything" not in text
    RoleGrant.objects.create(
        user=cast.evaluator, season=published.season, role=Role.EQUIPMENT_MANAGER
    )
    assert list(rows(client, "Cai")) == ["Cai Ørnberg"]


def test_a_leader_finds_the_own_rank_before_anything_is_published(band: Band, cast: Cast) -> None:
    client, mine = client_of(cast, "leader"), reverse("my-rank")
    assert rows(client, "ida voss") == {"Ida Voss": mine}
    assert rows(client, "larkspur") == {"Bo Larkspur": mine, "1-2": mine}
    assert rows(client, "rank") == {"Rank 1": mine}
    assert rows(client, "nunez") == {"Ana Núñez": reverse("card"), "1-1": reverse("card")}
    for typed in ("kit moss", "hal brook", "2-3", "pellowick", "tidewheel"):
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
    for typed in ("nunez", "1-1", "pellowick", "rank 1", "trumpet 1-2", "ida"):
        assert not rows(client, typed), typed


def test_a_member_finds_what_is_published(published: Band, cast: Cast) -> None:
    client = client_of(cast, "member")
    assert rows(client, "brook") == {"Hal Brook": "", "2-3": ""}
    assert "2-3, Rank 2: Pellowick at home" in text_of(client, "brook")
    assert rows(client, "2-3") == {"2-3": ""}
    assert rows(client, "cai") == dict.fromkeys(("Cai Ørnberg", "1-3"), reverse("card"))
    card_of = reverse("card-of", args=[published.event.pk])
    assert rows(client, "pellowick") == {"Pellowick at home": card_of}
    for typed in ("ida voss", "kit moss", "tidewheel", "rank 2"):
        assert not rows(client, typed), typed
    for url in {card_of, reverse("card")}:
        assert client.get(url).status_code == 200


def test_one_person_with_two_roles_finds_each_thing_once(published: Band, cast: Cast) -> None:
    season = published.season
    RoleGrant.objects.create(user=cast.member, season=season, role=Role.EQUIPMENT_MANAGER)
    client = client_of(cast, "member")
    main = text_of(client, "cai").partition("<main")[2]
    assert main.count(">Cai Ørnberg<") == 1
    assert rows(client, "ida voss") == {"Ida Voss": reverse("sizes")}
