"""Each action of a week can be taken back, once, unless something has used it."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded
from drill.absences.models import Absence
from drill.absences.services.absences import Report, decide_absence, report_absence
from drill.backups.services.backups import add_backup, make_first_backup, remove_backup
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup, Lineup, Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand, take_proposal
from drill.lineup.services.orders import leave_open, lift_order, pin_member
from drill.publishing.services.revising import go_back
from roster.ranks.models import AlternatePlace, Holding
from roster.ranks.services.holdings import swap_holders
from tests.architecture.world import publish
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("undoing reads the audit's JSON")]
SignIn = Callable[[User | None], Client]


def last_batch() -> str:
    return AuditEntry.objects.exclude(batch="").latest("id").batch


def take_back(client: Client, batch: str) -> str:
    answer = client.post(reverse("take-back"), {"batch": batch}, follow=True)
    return answer.content.decode()


def state() -> list[object]:
    """All that the actions below touch, key by key."""
    tables = (Absence, Backup, Pin, Holding, AlternatePlace)
    rows: list[object] = [list(t.objects.order_by("pk").values()) for t in tables]
    for lineup in Lineup.objects.order_by("pk"):
        rows.append(sorted(lineup.rows.values_list("segment", "spot", "member", "origin")))
    return rows


def actions(band: Band, cast: Cast) -> dict[str, Callable[[], object]]:
    staff, event, spot = cast.staff, band.event, band.spots["1-3"]
    jon, cai = band.members["Jon Pell"], band.members["Cai Ørnberg"]
    backup = add_backup(actor=staff, spot=spot, member=band.members["Ida Voss"])
    second = add_backup(actor=staff, spot=spot, member=band.members["Kit Moss"])
    pin = pin_member(
        actor=staff, event=event, segment=None, spot=band.spots["2-3"],
        member=band.members["Hal Brook"],
    )  # fmt: skip
    report = Report(cai, {"kind": "out", "event": event})
    reported = report_absence(actor=cast.member, report=report, by_staff=False)
    draft = open_draft(actor=staff, event=event)
    return {
        "report absence": lambda: report_absence(actor=staff, report=report, by_staff=True),
        "confirm absence": lambda: decide_absence(actor=staff, absence=reported, confirm=True),
        "name backup": lambda: add_backup(actor=staff, spot=spot, member=jon),
        "remove backup": lambda: remove_backup(actor=staff, backup=backup),
        "make first backup": lambda: make_first_backup(actor=staff, backup=second),
        "lift order": lambda: lift_order(actor=staff, order=pin),
        "leave spot open": lambda: leave_open(actor=staff, event=event, segment=None, spot=spot),
        "swap holders": lambda: swap_holders(
            actor=staff, first=band.members["Bo Larkspur"], second=band.members["Gus Tamm"],
            on=band.season.starts,
        ),
        "place by hand": lambda: place_by_hand(
            actor=staff, event=event, seen_version=draft.version, segment=band.halftime,
            spot=spot, member=jon,
        ),
        "take proposal": lambda: take_proposal(
            actor=staff, event=event, seen_version=draft.version
        ),
    }  # fmt: skip


NAMES = (
    "report absence",
    "confirm absence",
    "name backup",
    "remove backup",
    "make first backup",
    "lift order",
    "leave spot open",
    "swap holders",
    "place by hand",
    "take proposal",
)


@pytest.mark.parametrize("name", NAMES)
def test_an_action_is_taken_back_whole_and_once(
    band: Band, cast: Cast, signed_in: SignIn, name: str
) -> None:
    act = actions(band, cast)[name]
    before = state()
    act()
    batch, after = last_batch(), state()
    staff = signed_in(cast.staff)
    page = staff.get(reverse("history"))
    assert [a.name for a, may in page.context["actions"] if a.batch == batch and may] == [name]
    assert "Taken back: Staff " in take_back(staff, batch)
    assert state() == before
    assert "cannot be taken back" in take_back(staff, batch)
    assert state() == before
    assert name in ("leave spot open", "take proposal") or after != before


def test_what_was_used_since_stays(band: Band, cast: Cast, signed_in: SignIn) -> None:
    spot = band.spots["1-3"]
    add_backup(actor=cast.staff, spot=spot, member=band.members["Jon Pell"])
    first = last_batch()
    make_first_backup(
        actor=cast.staff,
        backup=add_backup(actor=cast.staff, spot=spot, member=band.members["Ida Voss"]),
    )
    staff = signed_in(cast.staff)
    assert not is_offered(staff, first)
    answer = take_back(staff, first)
    assert "has used it since" in answer and "Jon Pell" in answer
    used = "Jon Pell is a backup for 1-3: Staff put the backups for 1-3 in another order"
    assert used in answer, "what used it, as a sentence"
    assert Backup.objects.filter(spot=spot).count() == 2


def test_what_was_changed_back_since_is_offered_again(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    spot, staff = band.spots["1-3"], signed_in(cast.staff)
    one, two = (
        add_backup(actor=cast.staff, spot=spot, member=band.members[name])
        for name in ("Jon Pell", "Ida Voss")
    )
    first = AuditEntry.objects.filter(row_id=str(one.pk), table=Backup._meta.db_table).last()
    assert first is not None and is_offered(staff, first.batch)
    make_first_backup(actor=cast.staff, backup=two)
    assert not is_offered(staff, first.batch)
    assert "Taken back" in take_back(staff, last_batch())
    assert is_offered(staff, first.batch)


def is_offered(client: Client, batch: str) -> bool:
    """Whether the history has a button to take the action back."""
    page = client.get(reverse("history"))
    return [may for action, may in page.context["actions"] if action.batch == batch] == [True]


def test_nobody_takes_back_a_publication_or_what_members_did(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    publish(band, cast.staff)
    published = last_batch()
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.member, report=report, by_staff=False)
    staff = signed_in(cast.staff)
    for batch in (published, last_batch(), "", "nothing"):
        assert "cannot be taken back" in take_back(staff, batch)
    assert Absence.objects.count() == 1 and lineup_queries.published(band.event) is not None


def test_an_earlier_revision_is_published_again(band: Band, cast: Cast, signed_in: SignIn) -> None:
    first = publish(band, cast.staff)
    draft = open_draft(actor=cast.staff, event=band.event)
    place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Jon Pell"],
    )
    publish(band, cast.staff, 1)
    signed_in(cast.staff).post(reverse("revision-again", args=[first.pk]))
    again = lineup_queries.published(band.event)
    assert again is not None and again.number == 3
    assert (
        again.rows.get(segment=band.halftime, spot=band.spots["1-3"]).member
        == (band.members["Cai Ørnberg"])
    )
    told = {n.member.name for n in again.notices.all()}
    assert told == {"Cai Ørnberg", "Jon Pell", "Ana Núñez"}


def test_going_back_to_the_current_revision_is_refused(band: Band, cast: Cast) -> None:
    from bandops.lib.errors import Refused

    first = publish(band, cast.staff)
    with pytest.raises(Refused, match="current"):
        go_back(actor=cast.staff, event=band.event, to=first)


def test_what_only_the_director_may_do_staff_do_not_take_back(
    band: Band, cast: Cast, signed_in: Any
) -> None:
    """A setting of the season; and a placement after the cut-off."""
    with recorded(cast.director, "save season") as season_batch:
        band.season.doubtful_out_from = "0.30"
        band.season.save()
    draft = open_draft(actor=cast.director, event=band.event)
    pin = pin_member(
        actor=cast.director,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Jon Pell"],
    )
    pin_batch = AuditEntry.objects.exclude(batch="").order_by("-pk")[0].batch
    band.event.cut_off = timezone.now() - datetime.timedelta(hours=1)
    band.event.save()
    staff, director = signed_in(cast.staff), signed_in(cast.director)
    assert draft.pk
    for batch, why in (
        (season_batch, "cannot be taken back here"),
        (pin_batch, "only the director changes this lineup now"),
    ):
        page = staff.post(reverse("take-back"), {"batch": batch}, follow=True)
        assert why in page.content.decode()
    assert Pin.objects.filter(pk=pin.pk).exists()
    director.post(reverse("take-back"), {"batch": pin_batch})
    assert not Pin.objects.filter(pk=pin.pk).exists()
