"""Game day on the rank's page and the card: the day's event first, and what to tell whom."""

from __future__ import annotations

import datetime
import html

import pytest
from django.urls import reverse

from drill.publishing.models import Notice
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import out, publish
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

pytestmark = pytest.mark.django_db
TUESDAY = GAME_DAY + datetime.timedelta(days=3)


def test_from_the_call_on_the_games_attendance_comes_first(band: Band, cast: Cast) -> None:
    later = make_rehearsal(band, TUESDAY)
    publish(band, cast)
    with clock(11, 0, GAME_DAY):
        page = html.unescape(text(client_of(cast, "leader").get(reverse("my-rank"))))
    game = page.index(f'href="{reverse("attendance", args=[band.event.pk])}"')
    rehearsal = page.index(f'href="{reverse("attendance", args=[later.pk])}"')
    assert game < rehearsal
    assert "Attendance: who is here</a>" in page
    assert "Tuesday's rehearsal: attendance</a>" in page


def test_a_card_tells_of_the_day_before_a_later_rehearsal(band: Band, cast: Cast) -> None:
    make_rehearsal(band, TUESDAY)
    publish(band, cast)
    with clock(9, 0, GAME_DAY):
        page = text(client_of(cast, "member").get(reverse("card")))
    assert page.index("<dt>Call</dt>") < page.index('id="rehearsal"')


def test_a_card_tells_of_a_rehearsal_before_the_day_first(band: Band, cast: Cast) -> None:
    make_rehearsal(band)
    with clock(9):
        page = text(client_of(cast, "member").get(reverse("card")))
    assert page.index("First: <a") < page.index("not published yet") < page.index("<dt>Call</dt>")


def test_the_leader_reads_what_to_tell_and_is_not_listed(band: Band, cast: Cast) -> None:
    publish(band, cast)
    for name in ("Cai Ørnberg", "Ana Núñez"):
        out(band, cast, name)
    second = publish(band, cast, 1)
    notices = Notice.objects.filter(lineup=second).select_related("member__person")
    assert {"Ana Núñez", "Jon Pell"} <= {n.member.name for n in notices}
    page = text(client_of(cast, "leader").get(reverse("my-rank")))
    listed = page[page.index("Tell them") : page.index("Who marches")]
    assert "I told Jon Pell in person" in listed and "I told Ana" not in listed
    assert "What to tell Jon Pell" in listed and "you march" in listed
