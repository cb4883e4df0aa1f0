"""S8: eleven dots of set 14 change after Thursday's print; fifteen people hear of it."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact
from drill.lineup.models import Backup, Lineup
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from roster.ranks.models import Rank
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

STEP = 720
MOVED = {1: 720, 2: 1440, 3: 181, 4: 360, 5: 720, 6: 2160, 7: 400}
"""spot number of the new ranks -> how far it moves in set 14, in 1/32 inches"""
HARDLY = {8: 180, 9: 90, 10: 32, 11: 1}


@pytest.fixture
def scene(band: Band, cast: Cast) -> Band:
    """Three ranks A, B, C of eleven spots in all; the leader of A marches one of the seven."""
    show = Show.objects.get(name="Tidewheel")
    for label, order in (("3", 3), ("4", 4), ("5", 5)):
        band.ranks[label] = Rank.objects.create(season=band.season, label=label, order=order)
    for number in range(1, 12):
        rank = "345"[number % 3]
        band.spot(rank, number, "trumpet", band.member(f"Marcher {number:02}", "trumpet"))
    for label, leader in (("3", "Marcher 03"), ("4", "Leader Four"), ("5", "Leader Five")):
        member = band.members.get(leader) or band.member(leader, "trumpet")
        Rank.objects.filter(pk=band.ranks[label].pk).update(leader=member)
    for number in range(1, 7):
        spot = band.spots[f"{'345'[number % 3]}-{number}"]
        Backup.objects.create(spot=spot, member=band.member(f"Backup {number}", "trumpet"), order=1)
    draw(band, show, "first", 1, {})
    return band


def draw(band: Band, show: Show, label: str, order: int, moved: dict[int, int]) -> None:
    """A version of the show with sets 13 and 14."""
    version = ShowVersion.objects.create(show=show, label=label, order=order)
    for at, name in enumerate(("13", "14"), 1):
        drill_set = DrillSet.objects.create(version=version, order=at, label=name, counts=16)
        for number, spot in enumerate(band.spots.values()):
            dot, _ = Dot.objects.get_or_create(show=show, label=spot.label)
            shift = moved.get(spot.number, 0) if name == "14" and spot.rank.label in "345" else 0
            Position.objects.create(
                set=drill_set, dot=dot, x=2 * STEP * number + shift, y=10 * STEP
            )


def publish(client: Client, band: Band, number: int) -> Lineup:
    """Open the draft, look at the notice, publish: as staff do it."""
    client.post(reverse("by-hand", args=[band.event.pk]))
    page = client.get(reverse("publish", args=[band.event.pk]))
    form = {"version": page.context["draft"].version, "number": number or ""}
    client.post(reverse("publish", args=[band.event.pk]), form)
    return Lineup.objects.get(event=band.event, number=number + 1)


def test_only_the_fifteen_are_told_and_printed(
    scene: Band,
    cast: Cast,
    signed_in: Callable[[User | None], Client],
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    staff = signed_in(cast.staff)
    thursday = publish(staff, scene, 0)
    mail.outbox.clear()
    draw(scene, Show.objects.get(name="Tidewheel"), "second", 2, MOVED | HARDLY)

    with django_capture_on_commit_callbacks(execute=True):
        made = publish(staff, scene, 1)

    marchers = {f"Marcher {number:02}" for number in MOVED}
    backups = {f"Backup {number}" for number in range(1, 7)}
    leaders = {"Marcher 03", "Leader Four", "Leader Five"}
    told = {notice.member.name for notice in made.notices.all()}
    assert told == marchers | backups | leaders
    assert len(told) == 15
    assert {m.to[0] for m in mail.outbox} == {scene.members[name].person.email for name in told}

    slips = Artifact.objects.get(group=f"lineup:{made.pk}", filename__startswith="slips")
    pages = PdfReader(io.BytesIO(slips.file.read())).pages
    assert len(pages) == 15
    first_lines = {page.extract_text().strip().splitlines()[0] for page in pages}
    assert {name for name in told if any(name in line for line in first_lines)} == told

    old = signed_in(None).get(reverse("code", args=[thursday.code]))
    assert b"replaced" in old.content.lower()


def test_the_mails_say_what_moved_and_how_far(
    scene: Band, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    staff = signed_in(cast.staff)
    publish(staff, scene, 0)
    draw(scene, Show.objects.get(name="Tidewheel"), "second", 2, MOVED | HARDLY)
    staff.post(reverse("by-hand", args=[scene.event.pk]))
    page = staff.get(reverse("publish", args=[scene.event.pk]))
    texts = {p.member.name: p.text for p in page.context["previews"]}
    assert len(texts) == 15
    assert "Halftime, set 14: your dot 5-2 moves by 2 steps" in texts["Marcher 02"]
    assert "set 14: 5-2, where you are a backup, moves by 2 steps" in texts["Backup 2"]
    assert "set 14: 5-5 moves by 1 step" in texts["Leader Five"]
    assert "/my-rank/" in texts["Leader Five"] and "/card/" in texts["Backup 2"]
    assert "set 13" not in "".join(texts.values())
    assert "Marcher 08" not in texts
