"""The rehearsal call: a page a rank for one rehearsal, before the next performance."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from bandops.lib.dates import dated_words, stamp_words
from bandops.lib.pdf.render import PAPERS, Made, code_image, render_pdf
from drill.absences.services.standings import availability
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.field.core.spoken import SHORT_KEY
from drill.field.services.writing import Writer, writer_of
from drill.learning.services.work import Why, Work, lineup_for, work_before
from drill.lineup.core.leading import Marcher, who_leads
from drill.lineup.models import Lineup
from drill.lineup.sheets import AlternateLine, Seat, SpotLine, sheets
from drill.lineup.wording import leading_words
from drill.publishing.pdf.prints import Start, shortened, starts_of, told_apart
from drill.rehearsals import queries as rehearsal_queries
from drill.rehearsals.services.attendance import places_on
from drill.rehearsals.services.rehearsals import schedule
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Rank, Spot

STATES = ("unavailable", "in part", "doubtful")


@dataclass(frozen=True)
class Lesson:
    """A spot that an alternate learns, with where it starts in each segment."""

    spot: str
    words: str
    starts: tuple[Start | None, ...]


@dataclass(frozen=True)
class AlternateCall:
    """An alternate: what they learn, where they march, whether they are there."""

    place: AlternatePlace
    state: str
    marches: tuple[str, ...]
    lessons: tuple[Lesson, ...]


@dataclass(frozen=True)
class CallLine:
    """Who rehearses a spot: one seat, or each segment's own where they differ."""

    spot: Spot
    seats: tuple[tuple[str, Seat], ...]
    has_stand_in: bool


@dataclass(frozen=True)
class RankCall:
    """One rank's page. ``away`` holds states with names, never a reason."""

    rank: Rank
    lines: tuple[CallLine, ...]
    alternates: tuple[AlternateCall, ...]
    away: tuple[tuple[str, tuple[str, ...]], ...]
    leads: str
    """who leads at the rehearsal in the leader's place, if anybody"""


@dataclass(frozen=True)
class _Facts:
    """What all pages of a call are made of."""

    rehearsal: Event
    performance: Event | None
    lineup: Lineup | None
    segments: tuple[Segment, ...]
    state: dict[int, str]
    work: dict[int, list[Work]]
    places: list[tuple[int, Member, str]]
    writer: Writer


def render_call(
    rehearsal: Event,
    *,
    paper: str,
    with_draft: bool,
    rank_ids: set[int] | None = None,
    now: datetime.datetime | None = None,
) -> Made:
    """The call of all ranks, or of some; a draft is for staff only."""
    facts = _facts(rehearsal, with_draft)
    title = f"Rehearsal call: {rehearsal}"
    context = _stamp(facts, now or timezone.now()) | {
        "event": rehearsal,
        "performance": facts.performance,
        "lineup": facts.lineup,
        "blocks": schedule(rehearsal),
        "marching": facts.segments,
        "columns": 1 + 2 * len(facts.segments),
        "ranks": _pages(facts, rank_ids),
        "note": facts.writer.note,
        "key": SHORT_KEY if len(facts.segments) > 1 else "",
        "away_ids": {pk for pk, state in facts.state.items() if state == "unavailable"},
    }
    zone = rehearsal.season.zone
    content = render_pdf("calls/print/call.html", context, paper=paper, title=title, zone=zone)
    return Made(f"rehearsal-call-{rehearsal.date}", f"Rehearsal call, {PAPERS[paper]}", content)


def _facts(rehearsal: Event, with_draft: bool) -> _Facts:
    performance = rehearsal_queries.performance_after(rehearsal)
    lineup = lineup_for(performance, with_draft=with_draft)
    places = places_on(rehearsal.season, rehearsal.date)
    segments = [s for s in performance.segments.all() if s.marches] if performance else []
    return _Facts(
        rehearsal,
        performance,
        lineup,
        tuple(segments),
        availability(rehearsal, [member for _, member, _ in places]),
        work_before(performance, lineup) if performance else {},
        places,
        writer_of(rehearsal.season, (performance or rehearsal).field_type),
    )


def _stamp(facts: _Facts, now: datetime.datetime) -> dict[str, Any]:
    """Rehearsal, lineup and time on every page; the code says whether the lineup is current."""
    lineup, rehearsal = facts.lineup, facts.rehearsal
    made = now.astimezone(rehearsal.zone)
    which = "no lineup yet"
    stamp: dict[str, Any] = {}
    if lineup is not None and lineup.number is None:
        which = f"draft for {facts.performance}, not published"
    elif lineup is not None:
        which = f"{facts.performance}, revision {lineup.number}"
        url = f"{settings.SITE_URL}{reverse('code', args=[lineup.code])}"
        stamp = {"code": code_image(url), "address": url}
    scan = " · scan to see if the lineup is current" if stamp else ""
    return {
        **stamp,
        "stamp": f"{rehearsal}, {dated_words(rehearsal.date)} · {which}",
        "stamp_detail": f"made {stamp_words(made)}{scan}",
    }


def _pages(facts: _Facts, rank_ids: set[int] | None) -> list[RankCall]:
    ranks = [
        rank
        for rank in rank_queries.ranks(facts.rehearsal.season)
        if rank_ids is None or rank.pk in rank_ids
    ]
    lines: dict[int, tuple[CallLine, ...]] = {}
    marches: dict[int, AlternateLine] = {}
    if facts.lineup is not None:
        for sheet in sheets(facts.lineup, {rank.pk for rank in ranks}).ranks:
            lines[sheet.rank.pk] = tuple(_call_line(line) for line in sheet.lines)
            marches |= {line.place.member_id: line for line in sheet.alternates}
    alternates = [
        place
        for place in rank_queries.alternates(facts.rehearsal.season)
        if place.member_id in facts.state
    ]
    starts = _starts(facts, [place.member_id for place in alternates])
    pages = []
    for rank in ranks:
        mine = tuple(
            _alternate(facts, place, marches.get(place.member_id), starts)
            for place in alternates
            if place.rank_id == rank.pk
        )
        away = _away(facts, rank)
        if mine or lines.get(rank.pk) or any(rank.pk == r for r, _, _ in facts.places):
            leads = _leads(facts, rank)
            pages.append(RankCall(rank, lines.get(rank.pk, ()), mine, away, leads))
    return pages


def _call_line(line: SpotLine) -> CallLine:
    return CallLine(line.spot, told_apart(line.seats), line.has_stand_in)


def _starts(facts: _Facts, member_ids: Iterable[int]) -> dict[int, list[Start]]:
    """Where each spot that somebody learns starts."""
    if facts.performance is None:
        return {}
    spots = {w.spot.pk: w.spot for pk in member_ids for w in _learned(facts.work.get(pk, []))}
    versions = facts.lineup.show_versions if facts.lineup and facts.lineup.number else {}
    if not versions:
        shows = {s.show_id for s in facts.segments if s.show_id}
        in_use = event_queries.current_versions(shows, facts.performance)
        versions = {str(show): version.pk for show, version in in_use.items()}
    return starts_of(facts.writer, facts.segments, versions, list(spots.values()), facts.lineup)


def _learned(works: list[Work]) -> list[Work]:
    """This week's lessons; where there are none, the spots they are named for."""
    lessons = [w for w in works if w.why is Why.LESSON]
    return lessons or [w for w in works if w.why is Why.BACKUP]


def _alternate(
    facts: _Facts,
    place: AlternatePlace,
    line: AlternateLine | None,
    starts: dict[int, list[Start]],
) -> AlternateCall:
    lessons = []
    for work in _learned(facts.work.get(place.member_id, [])):
        found = {start.segment_id: start for start in starts.get(work.spot.pk, [])}
        if len(facts.segments) > 1:
            found = {pk: shortened(start) for pk, start in found.items()}
        columns = tuple(found.get(segment.pk) for segment in facts.segments)
        lessons.append(Lesson(work.spot.label, work.words, columns))
    return AlternateCall(
        place,
        facts.state[place.member_id],
        line.stands_at if line else (),
        tuple(lessons),
    )


def _leads(facts: _Facts, rank: Rank) -> str:
    """Who leads at the rehearsal; who is here for part of it may be out when it matters."""
    leaders = [pk for pk in (rank.leader_id, rank.assistant_leader_id) if pk]
    if not leaders or leaders[0] not in facts.state:
        return ""
    here = [
        (order, member, facts.state[member.pk])
        for order, (rank_id, member, _) in enumerate(facts.places)
        if (rank_id == rank.pk or member.pk in leaders) and facts.state[member.pk] != STATES[0]
    ]
    found = who_leads(
        leaders,
        [
            Marcher(m.pk, m.years_marched, order, doubtful=state in STATES)
            for order, m, state in here
        ],
    )
    names = {member.pk: member.name for _, member, _ in facts.places}
    return leading_words(found, names) if found else ""


def _away(facts: _Facts, rank: Rank) -> tuple[tuple[str, tuple[str, ...]], ...]:
    names = {
        state: tuple(
            member.name
            for rank_id, member, _ in facts.places
            if rank_id == rank.pk and facts.state[member.pk] == state
        )
        for state in STATES
    }
    return tuple((state, those) for state, those in names.items() if those)
