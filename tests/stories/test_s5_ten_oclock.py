"""S5: at ten on Saturday somebody is out; S6: straight or by a chain, and back in one step."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.gameday.models import DayChange, FillRequest
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand
from drill.rehearsals.models import Practice
from drill.shows.models import DrillSet, Show, ShowVersion
from tests.architecture.world import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


def sets(band: Band, count: int) -> Show:
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    for order in range(1, count + 1):
        DrillSet.objects.create(version=version, order=order, label=str(order), counts=8)
    return show


def practised(band: Band, name: str, spot: str, show: Show, count: int) -> None:
    member = band.members[name]
    Practice.objects.create(member=member, spot=band.spots[spot], show=show, sets=count)


def at(band: Band, segment: str, spot: str) -> str:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    rank, number = spot.split("-")
    row = lineup.rows.get(segment__name=segment, spot__rank__label=rank, spot__number=number)
    return row.member.name if row.member else "nobody"


@pytest.fixture
def ten(band: Band, cast: Cast) -> Band:
    """Cai marches 1-3 in pregame and 2-2 at halftime; Ida is the first backup, then Jon."""
    show = sets(band, 24)
    practised(band, "Jon Pell", "1-3", show, 9)
    practised(band, "Jon Pell", "2-2", show, 24)
    for order, name in enumerate(("Ida Voss", "Jon Pell"), 1):
        Backup.objects.create(spot=band.spots["1-3"], member=band.members[name], order=order)
    draft = open_draft(actor=cast.staff, event=band.event)
    for spot, name in (("2-2", "Cai Ørnberg"), ("1-3", "Gus Tamm")):
        draft = place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=band.halftime,
            spot=band.spots[spot],
            member=band.members[name],
        ).lineup
    publish(band, cast.staff)
    return band


def test_all_her_segments_open_together_and_the_backups_come_in_order(
    ten: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff = signed_in(cast.staff)
    cai = ten.members["Cai Ørnberg"]
    page = staff.get(reverse("desk-out", args=[ten.event.pk, cai.pk]))
    assert sorted(page.context["seats"]) == ["Halftime 2-2", "Pregame 1-3"]
    lines = [(c["member"].name, c["words"]) for c in page.context["choices"]]
    assert lines[0] == ("Ida Voss", "first backup, must learn all 48 sets")
    assert lines[1] == ("Jon Pell", "second backup, ready, 15 of 48 sets to learn")


def test_choosing_the_second_backup_updates_everything(
    ten: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff = signed_in(cast.staff)
    cai, jon = ten.members["Cai Ørnberg"], ten.members["Jon Pell"]
    form = {"out": cai.pk, "in": jon.pk, "number": 1}
    answer = staff.post(reverse("desk-fill", args=[ten.event.pk]), form, follow=True)
    change = DayChange.objects.get()
    assert answer.redirect_chain[-1][0] == reverse("desk-change", args=[change.pk])
    assert at(ten, "Pregame", "1-3") == at(ten, "Halftime", "2-2") == "Jon Pell"

    from tests.factories.cast import account_of

    card = signed_in(account_of(jon)).get(reverse("card"))
    assert card.context["card"].lineup.number == 2
    assert b"you march 1-3" in card.content and b"you march 2-2" in card.content
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    assert "Jon Pell" in leader.content.decode()
    slip = staff.get(reverse("slip", args=[change.after_id, jon.pk]))
    assert slip["Content-Type"] == "application/pdf"

    # Cai turns up: nothing moves by itself.
    Absence.objects.create(member=cai, event=ten.event, kind=AbsenceKind.IN)
    desk = staff.get(reverse("desk"))
    assert [b.change.member_out for b, _ in desk.context["back"]] == [cai]
    assert at(ten, "Pregame", "1-3") == "Jon Pell"
    staff.post(reverse("desk-undo", args=[change.pk]))
    assert at(ten, "Pregame", "1-3") == at(ten, "Halftime", "2-2") == "Cai Ørnberg"


def test_after_the_cut_off_staff_ask_and_the_director_says_why(
    ten: Band, cast: Cast, signed_in: SignIn
) -> None:
    ten.event.cut_off = datetime.datetime(2099, 10, 16, 18, tzinfo=datetime.UTC)
    ten.event.save()
    form = {"out": ten.members["Cai Ørnberg"].pk, "in": ten.members["Jon Pell"].pk, "number": 1}
    url = reverse("desk-fill", args=[ten.event.pk])
    with time_machine.travel(datetime.datetime(2099, 10, 17, 15, tzinfo=datetime.UTC)):
        staff, director = signed_in(cast.staff), signed_in(cast.director)
        answer = staff.post(url, form, follow=True)
        assert "the director has been asked" in answer.content.decode()
        assert at(ten, "Pregame", "1-3") == "Cai Ørnberg"
        page = staff.get(reverse("desk-out", args=[ten.event.pk, ten.members["Cai Ørnberg"].pk]))
        assert not page.context["may_edit"]
        assert b"Ask the director: Jon Pell steps in</button>" in page.content
        asked = FillRequest.objects.get()
        director.post(reverse("desk-request-approve", args=[asked.pk]))
        assert at(ten, "Pregame", "1-3") == at(ten, "Halftime", "2-2") == "Jon Pell"
        undo = reverse("desk-undo", args=[DayChange.objects.get().pk])
        assert "only the director" in staff.post(undo, follow=True).content.decode()
        director.post(undo, {"reason": "he came after all"})
        assert at(ten, "Pregame", "1-3") == at(ten, "Halftime", "2-2") == "Cai Ørnberg"


@pytest.fixture
def thirty(band: Band, cast: Cast) -> Band:
    """Kit has 18 of 30 sets new in 1-2 and none in 2-2; Gus, who holds 2-2, has 4 new in 1-2."""
    show = sets(band, 30)
    for name, spot, done in (
        ("Kit Moss", "1-2", 12),
        ("Kit Moss", "2-2", 30),
        ("Gus Tamm", "1-2", 26),
    ):
        practised(band, name, spot, show, done)
    for name in ("Ida Voss", "Jon Pell"):
        Absence.objects.create(member=band.members[name], event=band.event, kind=AbsenceKind.OUT)
    publish(band, cast.staff)
    return band


def test_straight_or_chain_are_both_shown_with_their_costs(
    thirty: Band, cast: Cast, signed_in: SignIn
) -> None:
    """1-2 is open."""
    band = thirty
    staff = signed_in(cast.staff)
    bo = band.members["Bo Larkspur"]
    page = staff.get(reverse("desk-out", args=[band.event.pk, bo.pk]))
    straight, chain = page.context["choices"]
    assert straight["words"] == "not a named backup, ready, 18 of 30 sets to learn"
    assert chain["words"] == (
        "2 people move: Gus Tamm to 1-2 from 2-2 (ready, 4 of 30 sets to learn); "
        "Kit Moss to 2-2 (ready, knows all 30 sets)"
    )
    form = {
        "out": bo.pk,
        "in": chain["member"].pk,
        "mover": chain["mover"].pk,
        "number": 1,
    }
    staff.post(reverse("desk-fill", args=[band.event.pk]), form)
    assert (at(band, "Halftime", "1-2"), at(band, "Halftime", "2-2")) == ("Gus Tamm", "Kit Moss")
    staff.post(reverse("desk-undo", args=[DayChange.objects.get().pk]))
    assert (at(band, "Halftime", "1-2"), at(band, "Halftime", "2-2")) == (
        "Bo Larkspur",
        "Gus Tamm",
    )


def test_ten_oclock_by_segment(ten: Band, cast: Cast, signed_in: SignIn) -> None:
    """Cai is out for halftime alone, marches pregame at 1-3, and comes back for nothing else."""
    staff = signed_in(cast.staff)
    cai, jon = ten.members["Cai Ørnberg"], ten.members["Jon Pell"]
    chosen = {"segments": ten.halftime.pk}
    page = staff.get(reverse("desk-out", args=[ten.event.pk, cai.pk]), chosen)
    assert page.context["seats"] == ["Halftime 2-2"]
    lines = [(c["member"].name, c["words"]) for c in page.context["choices"]]
    assert ("Jon Pell", "not a named backup, ready, knows all 24 sets") in lines
    assert ("Ida Voss", "not a named backup, must learn all 24 sets") in lines
    form = {"out": cai.pk, "in": jon.pk, "number": 1} | chosen
    staff.post(reverse("desk-fill", args=[ten.event.pk]), form)
    assert (at(ten, "Pregame", "1-3"), at(ten, "Halftime", "2-2")) == ("Cai Ørnberg", "Jon Pell")
    assert [a.segment for a in Absence.objects.filter(member=cai)] == [ten.halftime]

    card = signed_in(cast.member).get(reverse("card")).context["card"]
    marches = {s.segment.name: str(s.row.spot) for s in card.segments if s.row}
    assert marches == {"Pregame": "1-3"}
    Absence.objects.create(member=cai, event=ten.event, segment=ten.halftime, kind=AbsenceKind.IN)
    desk = staff.get(reverse("desk"))
    assert [b.change.member_out for b, _ in desk.context["back"]] == [cai]
    staff.post(reverse("desk-undo", args=[DayChange.objects.get().pk]))
    assert (at(ten, "Pregame", "1-3"), at(ten, "Halftime", "2-2")) == ("Cai Ørnberg",) * 2


def test_a_chain_in_one_segment_leaves_the_other_alone(
    thirty: Band, cast: Cast, signed_in: SignIn
) -> None:
    """1-2 is open at halftime: Gus (4 of 30 new there) moves, Kit (0 of 30) takes 2-2."""
    band = thirty
    staff = signed_in(cast.staff)
    bo = band.members["Bo Larkspur"]
    halftime = {"segments": band.halftime.pk}
    url = reverse("desk-out", args=[band.event.pk, bo.pk])
    straight, chain = staff.get(url, halftime).context["choices"]
    assert straight["words"] == "not a named backup, ready, 18 of 30 sets to learn"
    assert chain["words"].startswith("2 people move: Gus Tamm to 1-2 from 2-2 (ready, 4 of 30")
    form = {
        "out": bo.pk,
        "in": chain["member"].pk,
        "mover": chain["mover"].pk,
        "moves": chain["moves"],
        "number": 1,
    }
    staff.post(reverse("desk-fill", args=[band.event.pk]), form | halftime)
    for segment, people in (
        ("Halftime", ("Gus Tamm", "Kit Moss")),
        ("Pregame", ("Bo Larkspur", "Gus Tamm")),
    ):
        assert (at(band, segment, "1-2"), at(band, segment, "2-2")) == people
    staff.post(reverse("desk-undo", args=[DayChange.objects.get().pk]))
    assert (at(band, "Halftime", "1-2"), at(band, "Halftime", "2-2")) == (
        "Bo Larkspur",
        "Gus Tamm",
    )
