"""Nobody is confirmed undressed: the desk says what is missing and where the nearest spare is."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.gameday.services.desk import Wish, open_desk
from drill.gameday.services.dressing import Dressing
from drill.gameday.services.fills import fill
from drill.lineup import queries as lineup_queries
from drill.outfits.services.setting import set_worn
from roster.equipment.models import Item
from roster.equipment.services import work
from tests.architecture.world import publish
from tests.factories import Band, Cast
from tests.factories.store import Store, make_store

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def store(band: Band, cast: Cast) -> Store:
    """All have jackets, but Ida's is at the cleaner. One spare would fit her; Jon has his."""
    made = make_store(cast.equipment, band.parts["sousaphone"].instrument)
    for n, member in enumerate(band.members.values()):
        made.measured(member, chest=38, sleeve=33.5)
        made.item("Jacket", f"J-{n}", chest=40, sleeve=34)
        made.give(f"J-{n}", member)
    made.item("Jacket", "SPARE", chest=40, sleeve=34)
    set_worn(actor=cast.staff, of=band.event, kinds={made.kinds["Jacket"]: []})
    publish(band, cast.staff)
    ida = Item.objects.get(issues__member=band.members["Ida Voss"])
    work.open_ticket(actor=cast.equipment, item=ida, work="cleaning")
    return made


def wish(band: Band, into: str) -> Wish:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    members = band.members
    assert lineup.number is not None
    out, number = members["Cai Ørnberg"], lineup.number
    return Wish(out, members[into], None, number, uuid.uuid4(), timezone.now())


def desk_page(band: Band, client: Client) -> str:
    cai = band.members["Cai Ørnberg"].pk
    return client.get(reverse("desk-out", args=[band.event.pk, cai])).content.decode()


def test_the_desk_names_the_nearest_spare_and_hands_it_out(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    client = signed_in(cast.staff)
    page = " ".join(desk_page(band, client).split())
    assert "not dressed" in page and "nearest spare" in page
    assert "Hand SPARE to Ida Voss" in page and "Jon Pell steps in" in page
    assert "Ida Voss steps in" not in page
    desk = open_desk(band.event)
    assert desk is not None
    told = {"key": uuid.uuid4(), "tag": "SPARE", "member": band.members["Ida Voss"].pk}
    client.post(reverse("equipment-hand-out"), told)
    assert "Ida Voss steps in" in desk_page(band, client)


def test_a_fill_of_somebody_undressed_becomes_a_card_and_keeps_the_report(
    band: Band, store: Store, cast: Cast
) -> None:
    outcome = fill(actor=cast.staff, event=band.event, wish=wish(band, "Ida Voss"))
    assert outcome.change is None and outcome.clash is not None
    assert outcome.clash.wanted == band.members["Ida Voss"]
    assert fill(actor=cast.staff, event=band.event, wish=wish(band, "Jon Pell")).change is not None


def test_an_open_spot_is_refused_with_what_to_hand_out(
    band: Band, store: Store, cast: Cast
) -> None:
    out = wish(band, "Jon Pell")
    fill(
        actor=cast.staff,
        event=band.event,
        wish=Wish(out.out, None, None, out.seen, uuid.uuid4(), out.at),
    )
    again = wish(band, "Ida Voss")
    into_open = Wish(
        None, again.into, None, again.seen, uuid.uuid4(), again.at, spot=band.spots["1-3"]
    )
    with pytest.raises(Refused) as refused:
        fill(actor=cast.staff, event=band.event, wish=into_open)
    assert refused.value.message == "Ida Voss is not dressed."
    (detail,) = refused.value.details
    assert "is cleaning" in detail and "Hand out first: SPARE" in detail


def test_whom_nothing_fits_is_listed_apart(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    Item.objects.filter(tag="SPARE").update(state="missing")
    page = " ".join(desk_page(band, signed_in(cast.staff)).split())
    assert "1 could, but nothing fits to wear" in page
    desk = open_desk(band.event)
    assert desk is not None
    seats = tuple(
        s for s, m in desk.field.seats.items() if m == f"{band.members['Cai Ørnberg'].pk:07d}"
    )
    [(member, lacks)] = Dressing(desk).undressed(seats, None)
    assert member == band.members["Ida Voss"] and not lacks[0].spares


def test_without_network_only_who_is_dressed_is_offered(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    page = signed_in(cast.staff).get(reverse("desk-of", args=[band.event.pk]))
    offered = page.context["offline"]["outs"][band.members["Cai Ørnberg"].pk]["choices"]
    pks = [pk for pk, _ in offered]
    assert band.members["Jon Pell"].pk in pks and band.members["Ida Voss"].pk not in pks


def test_the_desk_looks_into_the_store_once_for_all_who_stand_there(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    client = signed_in(cast.staff)
    with CaptureQueriesContext(connection) as asked:
        page = client.get(reverse("desk-of", args=[band.event.pk])).content.decode()
    assert f'"{band.members["Jon Pell"].pk}"' in page
    worn = [q for q in asked.captured_queries if 'FROM "outfits_worn"' in q["sql"]]
    looks = [q for q in asked.captured_queries if 'FROM "equipment_ticket"' in q["sql"]]
    assert (len(worn), len(looks)) == (2, 2), "once for the lineup's problem, once for the desk"
