"""Rows of another season are not found, and no form takes them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from tests.architecture.access_table import TABLE
from tests.architecture.world import (
    World,
    arguments,
    client_of,
    outcome,
    undone,
    url_of,
)
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


def _foreign_urls(world: World, former: World) -> Iterator[tuple[str, str]]:
    """Every address with each of its rows in turn taken from the former season."""
    ours, theirs = arguments(world), arguments(former)
    public = ("link", "code", "import-upload", "export", "import-undo", "import-review")
    # Two entries of one person may well be of two seasons.
    people = ("people-merge", "people-different", "merge-undo", "account")
    # A fundamental of an earlier season is there to be added to this one.
    added = ("fundamental-example-add",)
    # All seasons are there to be looked at, and returned to; an earlier event to be set up again.
    across = ("season-people", "season-current", "member-erase", "event-again")
    # The store is the band's, whatever the season.
    store = (
        "equipment-item equipment-item-edit equipment-item-move equipment-item-work "
        "equipment-scanned equipment-ticket api-item api-item-hand-out api-item-take-back"
    )
    for name, mine in ours.items():
        if name in (*public, *people, *added, *across, *store.split()):
            continue
        for position, foreign in enumerate(theirs[name]):
            if foreign != mine[position]:
                args = [*mine[:position], foreign, *mine[position + 1 :]]
                yield name, reverse(name, args=args)


@pytest.mark.parametrize("role", ["director", "member"])
def test_rows_of_another_season_are_not_found(worlds: tuple[World, World, Cast], role: str) -> None:
    world, former, cast = worlds
    client = client_of(cast, role)
    wrong = []
    for name, url in _foreign_urls(world, former):
        row = TABLE[name]
        if role not in row.allowed.split():
            continue
        for method in ("GET", "POST"):
            expected = row.expected(role, method)
            with undone():
                got = outcome(client.generic(method, url))
            if got != (expected if expected in ("403", "405") else "404"):
                wrong.append(f"{method} {url} ({name}): {got}")
    assert not wrong, "\n".join(wrong)


Posts = list[tuple[str, dict[str, object]]]


def _of_the_week(world: World, former: World) -> Posts:
    event = world.event
    absence: dict[str, object] = {"kind": "out", "member": world.member.pk}
    seat: dict[str, object] = {"version": world.lineup.version}
    jon = world.band.members["Jon Pell"].pk
    mine: dict[str, object] = {"first": jon, "second": world.member.pk}
    pair: dict[str, object] = {"first": world.member.pk, "second": former.member.pk}
    return [
        ("absence-new", {"kind": "out", "member": former.member.pk, "event": event.pk}),
        ("absence-new", absence | {"event": former.event.pk}),
        ("absence-new", absence | {"segment": former.segment.pk}),
        ("mark-out", {"member": former.member.pk}),
        ("mark-out", absence | {"scope": "segment", "segment": former.segment.pk}),
        ("place", seat | {"member": former.member.pk}),
        ("swap-by-hand", seat | pair | {"scope": "event"}),
        ("swap-by-hand", seat | mine | {"scope": former.segment.pk}),
        ("desk-swap", pair | {"number": 1}),
        ("desk-swap", mine | {"number": 1, "segments": former.segment.pk}),
        ("desk-fill", {"out": world.member.pk, "number": 1, "segments": former.segment.pk}),
        ("desk-fill", {"spot": former.spot.pk, "in": world.member.pk, "number": 1}),
        ("order", {"what": "pin", "member": former.member.pk}),
        ("order", {"what": "block", "member": former.member.pk}),
    ]


def _of_the_band(world: World, former: World) -> Posts:
    return [
        ("people-bulk", {"what": "on leave", "member": former.member.pk}),
        ("member-place", {"kind": "hold", "spot": former.spot.pk, "on": "2099-09-01"}),
        ("member-place", {"kind": "swap", "other": former.member.pk, "on": "2099-09-01"}),
        (
            "member-place",
            {"kind": "alternate", "rank": former.rank.pk, "part": former.part.pk}
            | {"on": "2099-09-01"},
        ),
        ("rank-edit", {"label": "1", "order": 1, "leader": former.member.pk}),
        ("spot", {"number": 3, "part": former.part.pk, "weight": 1}),
        ("part-new", {"instrument": former.instrument.pk, "name": "X", "code": "x", "order": 1}),
        ("must-travel", {"add": former.member.pk}),
        ("travel-change", {"what": "add", "member": former.member.pk}),
        ("travel-change", {"what": "remove", "member": former.member.pk}),
    ]


def _of_the_rest(world: World, former: World) -> Posts:
    return [
        ("show-dot", {"spot": former.spot.pk, "dot": ""}),
        ("versions", {"label": "Copied", "copy_of": former.drilled.pk}),
        ("sets", {"label": "9", "counts": 8, "after": former.set_pk}),
        (
            "segment",
            {"name": "Halftime", "kind": "halftime", "show": former.show.pk}
            | {"starts": "16:00", "ends": "16:20"},
        ),
        (
            "round",
            {"member": former.band.members["Ida Voss"].pk, "spot": world.spot.pk},
        ),
        ("round", {"member": world.band.members["Ida Voss"].pk, "spot": former.spot.pk}),
        ("protected-spots", {"spot": former.spot.pk}),
        ("record-entry", {"outcome": "marched", "spot": former.spot.pk, "note": "so it was"}),
        (
            "round-edit",
            {"name": "Held", "effective": former.event.pk, "opens_at": "2099-10-01T12:00"}
            | {"closes_at": "2099-10-02T12:00", "held_at": "2099-10-03T12:00"},
        ),
        (
            "alternates-reorder",
            {f"standing-{former.band.members['Ida Voss'].pk}": 1},
        ),
    ]


@pytest.mark.parametrize("posts", [_of_the_week, _of_the_band, _of_the_rest])
def test_forms_do_not_take_rows_of_another_season(
    worlds: tuple[World, World, Cast], posts: Callable[[World, World], Posts]
) -> None:
    world, former, cast = worlds
    client = client_of(cast, "director")
    for name, data in posts(world, former):
        before = AuditEntry.objects.count()
        response = client.post(url_of(name, world), data)
        assert response.status_code in (200, 302, 404), name
        assert AuditEntry.objects.count() == before, f"{name} with {data}"
