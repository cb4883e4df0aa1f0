"""The member's card and the rank leader's page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.matrix import Row, rows_of
from bandops.lib.web.offline import is_for_later, keep_copy
from bandops.lib.web.pages import page
from drill.absences.services.doubtful import doubtful_at
from drill.absences.services.late import late_words
from drill.absences.services.standings import availability, availability_by_segment
from drill.backups.models import Lesson
from drill.backups.services.backup_lines import SpotLine, spot_lines
from drill.backups.services.coverage import lineup_to_show
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.field.services.writing import Writer, writer_of
from drill.gameday.services.to_decide import to_decide
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.sheets import AlternateLine, RankSheet, Sheets, cell_of, of_ranks, sheets_to_show
from drill.lineup.wording import Names
from drill.publishing.enums import NoticeState
from drill.publishing.services import cards
from drill.publishing.services.briefings import Briefing, briefings
from drill.publishing.services.news import News, news_of
from drill.publishing.services.notices import note_seen
from drill.publishing.wording import notice_sentences
from drill.rehearsals.services.rehearsals import coming_rehearsal, is_open
from drill.shows.models import Show
from roster.equipment import queries as equipment_queries
from roster.people.models import Member
from roster.people.rules import may_see_contact
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot


@page(rules.member, "card")
def card(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """My spot: where, when, in what, set by set."""
    season, me = viewer.this_season, viewer.member
    assert me is not None
    events = event_queries.events(season)
    coming = event_queries.not_over(events.exclude(kind="rehearsal"))
    event = next(iter(coming), None) or event_queries.next_event(season)
    if pk:
        event = get_object_or_404(events, pk=pk)
    rehearsal = coming_rehearsal(season)
    first = event is None or (rehearsal is not None and rehearsal.is_before(event))
    context: dict[str, object] = {
        "member": me,
        "event": event,
        "rehearsal": rehearsal,
        "rehearsal_first": first,
    }
    if event is not None:
        event.season = season
        writer = writer_of(season, event.field_type)
        made = cards.card(me, event, writer=writer)
        if made.lineup is not None:
            if not is_for_later(request):
                note_seen(actor=viewer.signed_in, member=me, lineups=_up_to(made.lineup))
            context |= _news(me, made.lineup)
        holding = Holding.objects.filter(member=me, ends__isnull=True).select_related("spot__rank")
        marching = [piece for piece in made.segments if piece.segment.marches]
        context |= {
            "card": made,
            "tabs": marching,
            "tab": _first_to_come([piece.segment for piece in marching]),
            "coming": coming,
            "holding": holding.first(),
            "lessons": _lessons(event, [me.pk]),
            "briefings": _briefings(me, made, writer),
            "issues": equipment_queries.issues_of(me),
        }
    return keep_copy(viewer, render(request, "cards/card.html", context))


def _first_to_come(segments: list[Segment]) -> int | None:
    """The segment that is shown first: the first that is not over."""
    to_come = [segment for segment in segments if not event_queries.is_over(segment)]
    return next((segment.pk for segment in to_come or segments), None)


def _briefings(member: Member, made: cards.Card, writer: Writer) -> list[Briefing]:
    """For each spot where the member stands in; nothing more is asked where they do not."""
    if made.lineup is None or not made.marches:
        return []
    return briefings(made.lineup, [member], writer).get(member.pk, [])


def _up_to(lineup: Lineup) -> QuerySet[Lineup]:
    """The event's revisions up to this one."""
    return Lineup.objects.filter(event=lineup.event_id, number__lte=lineup.number)


def _news(member: Member, lineup: Lineup) -> dict[str, object]:
    """What the member has not said that they know, in words: by their latest notice of the event,
    since a revision after it concerned others."""
    news = news_of(lineup, [member.pk]).get(member.pk)
    if news is None:
        return {}
    names = Names(lineup.event.season_id)
    return {
        "notice": news.newest,
        "news_key": news.key,
        "news": notice_sentences(news.content, names),
    }


@page(rules.rank_leader, "my-rank")
def my_rank(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """My rank today: who marches what, alternates and where each is a backup."""
    season = viewer.this_season
    event = event_queries.next_event(season)
    lineup = lineup_queries.published(event) if event else None
    rank_ids = {r.pk for r in viewer.ranks_led}
    members = list(rank_queries.members_of_ranks(season, sorted(rank_ids)))
    state = availability(event, members) if event else {}
    late = late_words(event, members) if event else {}
    along = event_queries.travellers(event) if event else None
    doubtful = doubtful_at(event, members, along) if event else []
    planned_out = {d.member.pk for d in doubtful if d.is_out}
    if event is not None and lineup is not None:
        lineup.event = event
    laid_out = _laid_out(lineup, rank_ids, late) if lineup else None
    people = [
        {
            "member": m,
            "state": _state_words(state.get(m.pk, ""), late.get(m.pk, "")),
            "planned_out": m.pk in planned_out,
            "at_home": along is not None and m.pk not in along,
            "contact": may_see_contact(viewer, m, next(iter(rank_ids))),
        }
        for m in members
    ]
    context = {
        "event": event,
        "lineup": lineup,
        "sheets": laid_out,
        "people": people,
        "in_brief": _in_brief(laid_out) if laid_out else [],
        "rows": _rows_by_word(laid_out) if laid_out else {},
        "travel_posted": along is not None,
        "travelling": sum(1 for p in people if not p["at_home"]),
        "ranks": viewer.ranks_led,
        "shows": _shows_with_sets(event) if event else [],
        "rehearsal": coming_rehearsal(season, noting=True),
        "noting": event is not None and is_open(event),
        "learning": _learning(event, members, laid_out) if event else [],
        "notices": _to_tell(viewer, lineup, members) if lineup else [],
        "clashes": to_decide(event, rank_ids, lineup) if event else [],
    }
    return keep_copy(viewer, render(request, "cards/my_rank.html", context))


def _laid_out(lineup: Lineup, rank_ids: set[int], late: Mapping[int, str]) -> Sheets:
    over = frozenset(key(pk) for pk in lineup_queries.segments_over(lineup.event))
    return _told_late(of_ranks(sheets_to_show(lineup, over), rank_ids), late)


def _in_brief(laid_out: Sheets) -> list[tuple[RankSheet, tuple[Row, ...]]]:
    """Each rank in one look: who marches in the next segment."""
    for one in laid_out.segments:
        one.event = laid_out.lineup.event
    segment = _first_to_come(list(laid_out.segments))
    found = []
    for sheet in laid_out.ranks:
        seats = [s for x in sheet.lines for s in x.seats if s.row.segment_id == segment]
        found.append((sheet, rows_of("", [cell_of(seat) for seat in seats])))
    return found


def _state_words(state: str, late: str) -> str:
    """Until when somebody is late says more than that they miss a part."""
    return state if state == "unavailable" else late or state


def _told_late(laid_out: Sheets, late: Mapping[int, str]) -> Sheets:
    """The alternates with until when they are late."""

    def told(line: AlternateLine) -> AlternateLine:
        words = _state_words(line.available, late.get(line.place.member_id, ""))
        return replace(line, available=words)

    ranks = (replace(r, alternates=tuple(map(told, r.alternates))) for r in laid_out.ranks)
    return replace(laid_out, ranks=tuple(ranks))


def _rows_by_word(laid_out: Sheets) -> dict[str, set[int]]:
    """'out' and 'doubtful' -> the lineup rows whose member is so in that segment, by now."""
    seats = [s for rank in laid_out.ranks for line in rank.lines for s in line.seats]
    members = {s.row.member_id: s.row.member for s in seats if s.row.member}
    words = availability_by_segment(laid_out.lineup.event, members.values())
    found: dict[str, set[int]] = {"out": set(), "doubtful": set()}
    for row in (s.row for s in seats if s.row.member_id):
        word = words.get((row.member_id or 0, row.segment_id))
        if word:
            found[word].add(row.pk)
    return found


@page(rules.rank_leader, "my-rank")
def my_backups(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What happens in my rank if somebody drops out of the published lineup."""
    season = viewer.this_season
    event = event_queries.next_event(season)
    lineup = lineup_queries.published(event) if event else None
    lines: list[SpotLine] = []
    if event is not None and lineup is not None:
        event.season = season
        rank_ids = {rank.pk for rank in viewer.ranks_led}
        lines = spot_lines(lineup_to_show(event, lineup), Names(season.pk))
        lines = [line for line in lines if line.spot.rank_id in rank_ids]
    context = {"event": event, "lineup": lineup, "lines": lines, "ranks": viewer.ranks_led}
    return keep_copy(viewer, render(request, "cards/my_backups.html", context))


def _shows_with_sets(event: Event) -> list[Show]:
    """The event's shows that have coordinates."""
    shows = {s.show_id: s.show for s in event.segments.all() if s.marches and s.show}
    known = event_queries.current_versions({pk for pk in shows if pk}, event)
    return [show for pk, show in shows.items() if pk in known and show]


def _lessons(event: Event, member_ids: list[int]) -> list[Lesson]:
    """What the members learn for the event by its backup plan."""
    rows = Lesson.objects.filter(plan__event=event, member__in=member_ids)
    return list(rows.select_related("member__person", "spot__rank", "spot__part"))


def _learning(
    event: Event, members: list[Member], laid_out: Sheets | None
) -> list[tuple[Member, Spot, str]]:
    """Who of the rank learns which spot: by the week's plan, and who stands in."""
    found = {
        (x.member_id, x.spot_id): (x.member, x.spot, "learns")
        for x in _lessons(event, [m.pk for m in members])
    }
    for seat in laid_out.stand_ins if laid_out is not None else ():
        member = seat.row.member
        if member is not None:
            where = (member.pk, seat.row.spot_id)
            found.setdefault(where, (member, seat.row.spot, "stands in at"))
    return list(found.values())


def _to_tell(viewer: Viewer, lineup: Lineup, members: list[Member]) -> list[tuple[News, list[str]]]:
    """Of the others in the rank: whom to tell, and what."""
    names = Names(lineup.event.season_id)
    others = [m.pk for m in members if m != viewer.member]
    return [(n, notice_sentences(n.content, names)) for n in _untold(lineup, others)]


def _untold(lineup: Lineup, member_ids: list[int]) -> list[News]:
    """Of the members whose latest news of the event is one that they have not seen."""
    known = (NoticeState.CONFIRMED, NoticeState.TOLD, NoticeState.SEEN)
    found = news_of(lineup, member_ids).values()
    missed = [
        n
        for n in found
        if n.newest.state not in known and n.newest.lineup.number != 1 and any(n.content.values())
    ]
    return sorted(missed, key=lambda n: n.newest.member.person.sort_key)
