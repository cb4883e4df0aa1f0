"""The game-day desk: taken back in one step, and not over a later change."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.audit import undo
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Overtaken, Refused
from drill.absences.enums import AbsenceState
from drill.absences.models import Absence
from drill.gameday.services.fills import undo_change
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand
from drill.publishing.services.publishing import publish_lineup
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import ask, at, name_at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]


def test_taking_back_puts_everybody_back_in_one_step(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    made = undo_change(actor=cast.staff, change=change)
    assert made.number == 3
    assert name_at(made, "Pregame", "1-3") == name_at(made, "Halftime", "1-3") == "Cai Ørnberg"
    assert Absence.objects.get().state == AbsenceState.WITHDRAWN
    with pytest.raises(Refused, match="already"):
        undo_change(actor=cast.staff, change=change)


def test_nothing_is_taken_back_over_a_later_change(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    ask(out, cast, wish(out, "Jon Pell", "Ida Voss", seen=2))
    with pytest.raises(Refused, match="changed hands"):
        undo_change(actor=cast.staff, change=change)
    assert at(out, "Halftime", "1-3") == "Ida Voss"


def test_taking_back_brings_a_pin_back_unless_somebody_else_is_pinned(
    out: Band, cast: Cast
) -> None:
    cai, spot = out.members["Cai Ørnberg"], out.spots["1-3"]
    for pinned_since in (False, True):
        Pin.objects.update_or_create(event=out.event, spot=spot, defaults={"member": cai})
        seen = number(out)
        change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell", seen=seen)).change
        assert change is not None and not Pin.objects.exists()
        if pinned_since:
            Pin.objects.create(event=out.event, spot=spot, member=out.members["Ida Voss"])
        undo_change(actor=cast.staff, change=change)
        assert Pin.objects.get().member.name == ("Ida Voss" if pinned_since else "Cai Ørnberg")


def test_the_draft_of_staff_is_kept_beside_the_change(out: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=out.event)
    place_by_hand(
        actor=cast.staff,
        event=out.event,
        seen_version=draft.version,
        segment=out.halftime,
        spot=out.spots["2-2"],
        member=out.members["Kit Moss"],
    )
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert at(out, "Halftime", "2-2") == "Gus Tamm", "the draft is not published by it"
    kept = lineup_queries.draft(out.event)
    assert kept is not None
    assert name_at(kept, "Halftime", "2-2") == "Kit Moss"
    assert name_at(kept, "Halftime", "1-3") == "Jon Pell", "the draft follows the change"


def test_a_wish_that_was_taken_back_is_not_said_to_be_done(out: Band, cast: Cast) -> None:
    same = wish(out, "Cai Ørnberg", "Jon Pell")
    change = ask(out, cast, same).change
    assert change is not None
    undo_change(actor=cast.staff, change=change)
    with pytest.raises(Refused, match=r"taken back at \d+:\d\d [AP]M: open the desk again"):
        ask(out, cast, same)
    assert number(out) == 3


def test_a_page_of_an_edit_that_was_taken_back_stays_old(out: Band, cast: Cast) -> None:
    """Version numbers only rise: nobody publishes what they have not seen."""

    def put(spot: str, name: str) -> int:
        draft = open_draft(actor=cast.staff, event=out.event)
        place_by_hand(
            actor=cast.staff,
            event=out.event,
            seen_version=draft.version,
            segment=out.halftime,
            spot=out.spots[spot],
            member=out.members[name],
        )
        draft.refresh_from_db()
        return draft.version

    seen = put("1-3", "Jon Pell")
    batch = AuditEntry.objects.exclude(batch="").order_by("-pk")[0].batch
    undo.take_back(actor=cast.staff, batch=batch)
    assert put("2-2", "Kit Moss") > seen
    with pytest.raises(Overtaken, match="just changed"):
        publish_lineup(actor=cast.staff, event=out.event, seen_version=seen, seen_number=1)


def _reported_first(band: Band) -> None:
    """Cai was entered as out before anybody came to the desk."""
    Absence.objects.create(member=band.members["Cai Ørnberg"], event=band.event, kind="out")


def test_the_spot_is_open_where_the_one_before_is_still_out(out: Band, cast: Cast) -> None:
    _reported_first(out)
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    director = client_of(cast, "director")
    page = text(director.get(reverse("desk-change", args=[change.pk])))
    assert "Cai Ørnberg may not march 1-3 (Pregame, Halftime) now. If you take" in page
    page = text(director.post(reverse("desk-undo", args=[change.pk]), follow=True))
    assert "Taken back. Revision 3 is published. Open now: 1-3." in page
    assert at(out, "Halftime", "1-3") == "nobody" and "Fill 1-3" in page
    assert Absence.objects.get().state == AbsenceState.CONFIRMED, "it was said before"


def test_nothing_is_said_where_the_absence_came_with_the_change(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    page = text(client_of(cast, "director").get(reverse("desk-change", args=[change.pk])))
    assert "Take this change back" in page and "may not march" not in page


def test_a_hole_of_somebody_still_out_is_filled_and_not_taken_back(out: Band, cast: Cast) -> None:
    _reported_first(out)
    change = ask(out, cast, wish(out, "Cai Ørnberg", None)).change
    assert change is not None
    page = text(client_of(cast, "director").get(reverse("desk-change", args=[change.pk])))
    assert "Take this change back" not in page and "choose somebody else</a>" in page
    with pytest.raises(Refused, match="Choose somebody else at the desk"):
        undo_change(actor=cast.staff, change=change)
