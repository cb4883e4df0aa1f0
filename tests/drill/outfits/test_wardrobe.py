"""What is worn, who lacks it, and how a lineup heeds it."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.events.services.events import copy_event
from drill.lineup.core.check import violations
from drill.lineup.core.dressing import contested, dress, needs
from drill.lineup.core.problem import Level
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import solve
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.problem_builder import build
from drill.lineup.services.rows import Rows
from drill.outfits.models import Excused, Worn
from drill.outfits.services.setting import excuse, excuse_no_more, set_worn
from drill.outfits.services.wardrobe import Wardrobe, missing_words, nearest_words
from roster.equipment.models import Item, Kind, Ticket
from roster.equipment.services import work
from tests.factories import Band, Cast
from tests.factories.store import Store, make_store

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def store(band: Band, cast: Cast) -> Store:
    """Everybody who holds a spot has a jacket; the alternates have none. One spare in store fits
    Ida and Kit alike."""
    made = make_store(cast.equipment, band.parts["sousaphone"].instrument)
    for n, (name, member) in enumerate(band.members.items()):
        made.measured(member, chest=38, sleeve=33.5)
        if name not in ("Ida Voss", "Jon Pell", "Kit Moss"):
            made.item("Jacket", f"J-{n}", chest=40, sleeve=34)
            made.give(f"J-{n}", member)
    made.item("Jacket", "SPARE", chest=40, sleeve=34)
    set_worn(actor=cast.staff, of=band.event, kinds={made.kinds["Jacket"]: []})
    return made


def wardrobe(band: Band) -> Wardrobe:
    return Rows(band.event).wardrobe


def lacking(band: Band) -> set[str]:
    return {str(m.member) for rows in wardrobe(band).lacking.values() for m in rows}


def test_who_has_no_usable_piece_lacks_it(band: Band, store: Store) -> None:
    assert lacking(band) == {"Ida Voss", "Jon Pell", "Kit Moss"}
    ana = Item.objects.get(issues__member=band.members["Ana Núñez"])
    ticket = work.open_ticket(actor=store.actor, item=ana, work="cleaning")
    assert "Ana Núñez" in lacking(band)
    [[missing]] = [r for r in wardrobe(band).lacking.values() if str(r[0].member) == "Ana Núñez"]
    assert missing_words(missing) == f"no jacket ({ana} is cleaning)"
    Ticket.objects.filter(pk=ticket.pk).update(due=band.event.date - datetime.timedelta(days=1))
    assert "Ana Núñez" not in lacking(band), "back the day before"
    Ticket.objects.filter(pk=ticket.pk).update(due=band.event.date)
    assert "Ana Núñez" in lacking(band), "back on the day is too late"


def test_a_promise_that_is_past_is_none(band: Band, store: Store) -> None:
    ana = Item.objects.get(issues__member=band.members["Ana Núñez"])
    ticket = work.open_ticket(actor=store.actor, item=ana, work="cleaning")
    Ticket.objects.filter(pk=ticket.pk).update(due=datetime.date(2020, 1, 1))
    assert "Ana Núñez" in lacking(band)


def test_what_only_some_wear_is_asked_of_them_alone(band: Band, store: Store, cast: Cast) -> None:
    brass = [band.parts["sousaphone"].instrument]
    set_worn(actor=cast.staff, of=band.event, kinds={store.kinds["Jacket"]: brass})
    assert lacking(band) == set()
    parts = {part for _, part, _ in wardrobe(band).asked}
    assert parts == {band.parts["sousaphone"].pk}


def test_what_a_show_asks_for_is_asked_in_its_segments(
    band: Band, store: Store, cast: Cast
) -> None:
    Worn.objects.all().delete()
    show = band.halftime.show
    assert show is not None
    band.pregame.show = None
    band.pregame.save()
    set_worn(actor=cast.staff, of=show, kinds={store.kinds["Jacket"]: []})
    assert {segment for segment, _, _ in wardrobe(band).asked} == {band.halftime.pk}


def test_who_is_excused_lacks_nothing(band: Band, store: Store, cast: Cast) -> None:
    ida, jacket = band.members["Ida Voss"], store.kinds["Jacket"]
    excuse(actor=cast.staff, event=band.event, member=ida, kind=jacket)
    excuse(actor=cast.staff, event=band.event, member=ida, kind=jacket)
    assert "Ida Voss" not in lacking(band) and Excused.objects.count() == 1
    excuse_no_more(actor=cast.staff, event=band.event, member=ida, kind=jacket)
    assert "Ida Voss" in lacking(band)


def test_a_copied_event_asks_for_the_same(band: Band, store: Store, cast: Cast) -> None:
    day = band.event.date + datetime.timedelta(days=7)
    fresh = copy_event(actor=cast.staff, event=band.event, name="Another game", date=day)
    assert [w.kind.name for w in Worn.objects.filter(event=fresh)] == ["Jacket"]


def out(band: Band, *names: str) -> None:
    for name in names:
        member = band.members[name]
        member.cleared = "no"
        member.save()


def test_one_spare_dresses_one_stand_in_for_the_whole_event(band: Band, store: Store) -> None:
    """Two trumpets are out; of the three alternates only one can be dressed."""
    out(band, "Cai Ørnberg", "Gus Tamm")
    problem = build(band.event).problem
    lineup = solve(problem)
    assert lineup.levels[Level.HOLES - 1].value == 2, "one spot, in both segments"
    assert violations(problem, lineup.placements) == ()
    (worn,) = needs(Facts(problem), lineup.placements).values()
    assert len(worn) == 1


def test_whom_nothing_fits_is_not_placed(band: Band, store: Store) -> None:
    Item.objects.filter(tag="SPARE").update(state="missing")
    out(band, "Cai Ørnberg")
    lineup = solve(build(band.event).problem)
    assert {str(band.members["Ida Voss"].pk)}.isdisjoint({p.member for p in lineup.placements})
    assert lineup.levels[Level.HOLES - 1].value == 2
    draft = open_draft(actor=store.actor, event=band.event)
    assert draft.rows.filter(member=None, spot=band.spots["1-3"]).count() == 2


def test_the_page_of_a_spot_says_who_is_not_dressed(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    Item.objects.filter(tag="SPARE").update(state="missing")
    out(band, "Cai Ørnberg")
    open_draft(actor=cast.staff, event=band.event)
    seat = (band.event.pk, band.pregame.pk, band.spots["1-3"].pk)
    page = signed_in(cast.staff).get(reverse("seat", args=seat)).content.decode()
    assert "not dressed, and no spare piece fits" in page
    assert "A jacket that fits Ida Voss" in page


def test_nearest_words_name_an_alteration_or_what_misses(band: Band, store: Store) -> None:
    Item.objects.filter(tag="SPARE").update(state="missing")
    store.item("Jacket", "SMALL", chest=38, sleeve=34)
    found = wardrobe(band)
    built = found.built[store.kinds["Jacket"].pk]
    words = nearest_words(built, band.members["Ida Voss"])
    assert words == (
        "with an alteration: SMALL (chest 38 in, sleeve 34 in), let out chest 1 in ($25.00)"
    )
    Item.objects.filter(tag="SMALL").update(state="missing")
    store.item("Jacket", "TINY", chest=30, sleeve=34)
    built = wardrobe(band).built[store.kinds["Jacket"].pk]
    assert nearest_words(built, band.members["Ida Voss"]) == (
        "TINY (chest 30 in, sleeve 34 in): chest 9 in too small"
    )


def test_setting_what_is_worn_on_its_page(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    client, hat = signed_in(cast.equipment), Kind.objects.get(name="Hat")
    url = reverse("uniform", args=[band.event.pk])
    brass = band.parts["sousaphone"].instrument_id
    client.post(url, {f"kind_{hat.pk}": "on", f"by_{hat.pk}": [brass]})
    (row,) = Worn.objects.filter(event=band.event)
    assert row.kind == hat and [i.pk for i in row.instruments.all()] == [brass]
    Worn.objects.all().delete()
    band.event.uniform = "jacket; hat"
    band.event.save()
    form = client.get(url).context["form"]
    checked = {form[f"kind_{k.pk}"].initial for k in form.kinds}
    assert checked == {True}, "the kinds that the words name are proposed"


def test_dressing_by_hand_and_whom_it_is_about() -> None:
    """Hall: two who fit only one size of which there is one; a third has their own."""
    fits = {"a": ("s",), "b": ("s",), "c": ("s", "m")}
    worn, left = dress(fits, {"s": 1, "m": 1})
    assert set(worn) == {"a", "c"} and left == ("b",)
    assert worn == {"a": "s", "c": "m"}
    assert contested(fits, {"s": 1, "m": 1}) == ("a", "b")
    assert contested(fits, {"s": 2, "m": 1}) == ()
