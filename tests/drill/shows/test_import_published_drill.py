"""Coordinates of a version that a published lineup was made for."""

from __future__ import annotations

from typing import Any

import pytest

from bandops.lib.dates import day_words
from drill.events.models import Event
from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.models import Lineup
from drill.shows.models import Position, ShowVersion
from tests.drill.shows.coordinate_sheets import Sheets, sheets
from tests.drill.shows.slips import HEAD, row
from tests.lib.imports_help import accept_shown, dump, upload, uploads, words

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def published(sheets: Sheets) -> Lineup:
    """Tidewheel 1 as the drill of the home game's published lineup."""
    sheets.accept(HEAD + row("1", "1-1") + row("1", "1-2"))
    version = ShowVersion.objects.get()
    return Lineup.objects.create(
        event=sheets.band.event,
        state="published",
        number=1,
        show_versions={str(version.show_id): version.pk},
    )


MOVED = (HEAD + row("1", "1-1", x=4) + row("1", "1-2")).encode()


def test_a_published_drill_changes_only_in_a_second_step(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    client = signed_in(sheets.cast.staff)
    page = upload(client, "coordinates", MOVED)
    shown = words(page)
    assert "Careful: read this before you save" in shown
    assert (
        "Tidewheel 1 is the drill of the published lineup for Pellowick at home "
        f"({day_words(published.event.date)})." in shown
    )
    assert "members' cards change at once: no change notice tells them." in shown
    assert "give the version in the file another label" in shown
    assert 'name="sure" value="yes" required' in shown
    before = dump()
    refused = accept_shown(client, page)
    assert "Nothing was imported: check the box first." in words(refused)
    assert dump() == before
    assert uploads() == 1, "the file still waits"
    data = {"what": "accept", "digest": page.context["plan"].digest, "sure": "yes"}
    client.post(page.request["PATH_INFO"], data)
    assert Position.objects.filter(x=4 * UNITS_PER_STEP).exists()


def test_a_lineup_published_after_the_preview_is_no_surprise(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    """Neither a first one nor another one slips in under a preview that did not name it."""
    client = signed_in(sheets.cast.staff)
    page = upload(client, "coordinates", MOVED)
    other = Event.objects.create(
        season=sheets.band.season, name="Lamplight Parade", kind="parade", date=published.event.date
    )
    Lineup.objects.create(
        event=other, state="published", number=1, show_versions=published.show_versions
    )
    data = {"what": "accept", "digest": page.context["plan"].digest, "sure": "yes"}
    again = client.post(page.request["PATH_INFO"], data, follow=True)
    assert "Something changed since this preview" in words(again)
    assert "Lamplight Parade" in words(again)
    assert not Position.objects.filter(x=4 * UNITS_PER_STEP).exists()


def test_a_revision_that_is_replaced_is_warned_of_too(sheets: Sheets, published: Lineup) -> None:
    Lineup.objects.create(event=published.event, state="published", number=2, show_versions={})
    plan = sheets.plan(MOVED)
    assert [w.message for w in plan.cautions] == [
        "Tidewheel 1 is the drill of an earlier published lineup, which no longer matches what "
        "was printed from it. To leave it as it is, give the version in the file another label."
    ]


def test_what_changes_nothing_or_another_version_needs_no_second_step(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    same = sheets.plan(HEAD + row("1", "1-1") + row("1", "1-2"))
    assert not same.cautions and not same.warnings
    client = signed_in(sheets.cast.staff)
    text = MOVED.decode().replace("show,", "show,version,").replace("Tidewheel,", "Tidewheel,2,")
    page = upload(client, "coordinates", text.encode())
    assert "Careful" not in words(page)
    assert "1 added, 0 changed" in words(accept_shown(client, page))
