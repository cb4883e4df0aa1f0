"""A travel list of the small band: made, changed, posted, and what others do meanwhile."""

from __future__ import annotations

from typing import Any

from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.events.models import Traveller, TravelList
from drill.lineup.services import drafts
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import propose
from drill.publishing.services.publishing import publish_lineup
from drill.travel.services import marching, travel
from drill.travel.services.travel_sheet import Sheet, sheet_of
from tests.factories import Band, Cast

MARCHERS = {
    "Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Dee Quill", "Eno Farrow", "Fay Ashgrove",
    "Gus Tamm", "Hal Brook",
}  # fmt: skip


def limit(band: Band, most: int | None) -> None:
    band.event.travel_limit = most
    band.event.save()


def roles(band: Band) -> dict[str, str]:
    rows = Traveller.objects.filter(list__event=band.event).select_related("member__person")
    return {t.member.name: t.role for t in rows}


def make(band: Band, cast: Cast) -> TravelList:
    return travel.make_list(actor=cast.staff, event=band.event)


def post(band: Band, cast: Cast) -> TravelList:
    return travel.post_list(actor=cast.staff, event=band.event)


def add(band: Band, cast: Cast, name: str) -> None:
    travel.add_member(actor=cast.staff, event=band.event, member=band.members[name])


def remove(band: Band, cast: Cast, name: str) -> str:
    return travel.remove_member(actor=cast.staff, event=band.event, member=band.members[name])


def out(band: Band, cast: Cast, name: str, **values: Any) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event, **values})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def publish(band: Band, cast: Cast, number: int | None = None) -> None:
    draft = drafts.open_draft(actor=cast.staff, event=band.event)
    publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def sheet(band: Band) -> Sheet:
    return sheet_of(TravelList.objects.get(event=band.event), marching.marching(band.event))


def solved(band: Band) -> dict[str, str]:
    """Spot -> who marches it at halftime by the solver."""
    answer = propose(build(band.event)).answer
    names = {key(m.pk): m.name for m in band.members.values()}
    half = key(band.halftime.pk)
    labels = {key(s.pk): label for label, s in band.spots.items()}
    return {
        labels[p.spot]: names[p.member] if p.member else p.origin.value
        for p in answer.placements
        if p.segment == half
    }
