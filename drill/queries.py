"""Every reused read of the drill, named once."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Sum
from django.utils import timezone

from drill.core.availability import Entry, Said, Slot
from drill.core.field import FIELD_TYPES, FieldType
from drill.core.turns import TurnCounts, counted, from_lineups
from drill.enums import (
    COUNTING,
    EventKind,
    LineupState,
    NoticeState,
    TravelState,
    TurnOutcome,
)
from drill.models import (
    Absence,
    Bar,
    Cover,
    CustomField,
    DrillSet,
    DrillSettings,
    Event,
    Lineup,
    LineupRow,
    Notice,
    OpenSeat,
    Pin,
    Position,
    Practice,
    Segment,
    ShowVersion,
    TravelList,
    Turn,
)
from roster.models import Member, Season


def events(season: Season) -> QuerySet[Event]:
    """The season's events in order, with their segments."""
    return Event.objects.filter(season=season).prefetch_related("segments__show")


def next_event(season: Season, today: datetime.date | None = None) -> Event | None:
    """The next performance (no rehearsal) from today on; the last one when all are past."""
    today = today or timezone.localdate()
    performances = events(season).exclude(kind="rehearsal")
    coming = performances.filter(date__gte=today).order_by("date", "call_time").first()
    return coming or performances.order_by("-date").first()


def coming_events(season: Season, today: datetime.date | None = None) -> QuerySet[Event]:
    """Events from today on."""
    return events(season).filter(date__gte=today or timezone.localdate())


def rehearsals(season: Season) -> QuerySet[Event]:
    """The season's rehearsals in order, with their segments and blocks."""
    return events(season).filter(kind=EventKind.REHEARSAL).prefetch_related("blocks__show")


def next_rehearsal(season: Season, today: datetime.date | None = None) -> Event | None:
    """Today's rehearsal or the next one."""
    return rehearsals(season).filter(date__gte=today or timezone.localdate()).first()


def performance_after(rehearsal: Event) -> Event | None:
    """The performance that a rehearsal is for: the next one from its day on."""
    performances = events(rehearsal.season).exclude(kind=EventKind.REHEARSAL)
    return performances.filter(date__gte=rehearsal.date).select_related("season").first()


def absences_at(event: Event) -> QuerySet[Absence]:
    """Entries that may speak of the event and count."""
    dated = Q(from_date__lte=event.date) & (
        Q(until_date__isnull=True) | Q(until_date__gte=event.date)
    )
    return Absence.objects.filter(
        Q(event=event) | (Q(event__isnull=True) & dated),
        member__season=event.season_id,
        state__in=COUNTING,
    )


def absences(season: Season) -> QuerySet[Absence]:
    """All entries, latest first, with what lists show."""
    return Absence.objects.filter(member__season=season).select_related(
        "member__person", "event", "segment", "reported_by"
    )


def published(event: Event) -> Lineup | None:
    """The event's newest published lineup."""
    lineups = Lineup.objects.filter(event=event, state=LineupState.PUBLISHED)
    return lineups.order_by("-number").first()


def draft(event: Event) -> Lineup | None:
    """The event's draft."""
    return Lineup.objects.filter(event=event, state=LineupState.DRAFT).first()


def unreached(lineup: Lineup) -> list[Notice]:
    """Notices of the event, up to this revision, whose members no notice has reached since:
    the latest of each member."""
    notices = Notice.objects.filter(
        lineup__event=lineup.event_id, lineup__number__lte=lineup.number
    )
    latest: dict[int, Notice] = {}
    for notice in notices.select_related("member__person", "lineup").order_by("lineup__number"):
        if notice.state != NoticeState.WAITING:
            latest[notice.member_id] = notice
    missed = [n for n in latest.values() if n.state == NoticeState.NOT_REACHED]
    return sorted(missed, key=lambda n: n.member.person.sort_key)


def rows(lineup: Lineup) -> QuerySet[LineupRow]:
    """A lineup's rows in printing order."""
    return lineup.rows.select_related(
        "segment", "spot__rank", "spot__part", "member__person"
    ).order_by("segment__order", "spot__rank__order", "spot__rank__label", "spot__number")


def latest_numbers(season: Season) -> QuerySet[Lineup]:
    """The newest published lineup of each event."""
    newest = Lineup.objects.filter(event__season=season, state=LineupState.PUBLISHED).order_by(
        "event_id", "-number"
    )
    best: dict[int, int] = {}
    for pk, event_id in newest.values_list("pk", "event_id"):
        best.setdefault(event_id, pk)
    return Lineup.objects.filter(pk__in=best.values())


def turns(season: Season, before: datetime.date) -> dict[int, int]:
    """Member id -> percent of their chances before a day in which they marched."""
    return {pk: counts.percent for pk, counts in turn_counts(season, before).items()}


def turn_counts(season: Season, before: datetime.date) -> dict[int, TurnCounts]:
    """Member id -> counts of the season's performances before a day, by segment: from the turn
    book where it is confirmed, else from the newest published lineup and the absences (clearance
    carries no past, so it is not asked there). A fixed number of queries."""
    members = Member.objects.filter(season=season).values_list("pk", flat=True)
    found = _unconfirmed(season, before, list(members))
    in_book = Turn.objects.filter(book__event__season=season, book__event__date__lt=before)
    sums = in_book.values("member_id").annotate(
        marched=Count("pk", filter=Q(outcome=TurnOutcome.MARCHED)),
        stood_by=Count("pk", filter=Q(outcome=TurnOutcome.STOOD_BY)),
        offered=Count("pk", filter=Q(outcome=TurnOutcome.OFFERED)),
    )
    for row in sums:
        mine = counted(row["marched"], row["stood_by"], row["offered"])
        found[row["member_id"]] = found.get(row["member_id"], TurnCounts()) + mine
    return found


def _unconfirmed(
    season: Season, before: datetime.date, members: list[int]
) -> dict[int, TurnCounts]:
    newer = Lineup.objects.filter(
        event=OuterRef("lineup__event"), number__gt=OuterRef("lineup__number")
    )
    newest = LineupRow.objects.filter(
        ~Exists(newer),
        lineup__state=LineupState.PUBLISHED,
        lineup__event__season=season,
        lineup__event__date__lt=before,
        lineup__event__turn_book__isnull=True,
    ).exclude(lineup__event__kind=EventKind.REHEARSAL)
    segments = Segment.objects.filter(pk__in=newest.values("segment"))
    slots = {
        row[0]: Slot(*row)
        for row in segments.values_list("pk", "event_id", "event__date", "starts", "ends")
    }
    placed = newest.filter(member__isnull=False).values_list("member_id", "segment_id")
    entries: dict[int, list[Entry]] = defaultdict(list)
    said = Absence.objects.filter(member__season=season, state__in=COUNTING)
    for a in said:
        entries[a.member_id].append(
            Entry(
                a.pk,
                Said(a.kind),
                a.event_id,
                a.segment_id,
                a.from_date,
                a.until_date,
                a.late_until,
                a.leaves_at,
                a.chance,
            )
        )
    return from_lineups(slots, placed, entries, members, season.doubtful_out_from)


def covers(season: Season) -> QuerySet[Cover]:
    """Named covers, in order, with spot and member."""
    return Cover.objects.filter(spot__rank__season=season).select_related(
        "spot__rank", "member__person"
    )


def orders(event: Event) -> tuple[list[Pin], list[Bar], list[OpenSeat]]:
    """Staff's pins, bars and open seats for an event."""
    pins = event.pins.select_related("spot__rank", "member__person", "segment")
    bars = event.bars.select_related("spot__rank", "member__person", "segment")
    opens = event.open_seats.select_related("spot__rank", "segment")
    return list(pins), list(bars), list(opens)


def travellers(event: Event) -> frozenset[int] | None:
    """Ids of the members on the event's posted travel list; None while none is posted."""
    posted = TravelList.objects.filter(event=event, state=TravelState.POSTED)
    rows = list(posted.values_list("travellers__member_id", flat=True))
    return frozenset(pk for pk in rows if pk is not None) if rows else None


def practice(season: Season) -> QuerySet[Practice]:
    """Sets practised on other spots."""
    return Practice.objects.filter(member__season=season)


def current_versions(show_ids: set[int], event: Event | None = None) -> dict[int, ShowVersion]:
    """Show id -> the version in use; at an event, its own where it has one that still differs."""
    usable = Q(for_event=None) if event is None else Q(for_event=None) | Q(for_event=event)
    versions = list(ShowVersion.objects.filter(usable, show_id__in=show_ids).order_by("order"))
    usual = {v.show_id: v for v in versions if v.for_event_id is None}
    known = {v.pk for v in versions if v.for_event_id is None}
    own = {v.show_id: v for v in versions if v.for_event_id is not None}
    return usual | {show: v for show, v in own.items() if not _is_usual_again(v, known)}


def _is_usual_again(version: ShowVersion, known: set[int]) -> bool:
    """An event's version that restores one of the show's own (``known``)."""
    change = version.change or {}
    return change.get("code") == "restore" and change.get("base") in known


NO_SIZE = {"sets": 0, "counts": 0, "places": 0}


def version_sizes(versions: Iterable[ShowVersion]) -> dict[int, dict[str, int]]:
    """Version id -> how many sets, counts and places it has."""
    ids = [version.pk for version in versions]
    sums = DrillSet.objects.filter(version__in=ids).values("version_id")
    found = {
        row["version_id"]: {"sets": row["sets"], "counts": row["counts"], "places": 0}
        for row in sums.annotate(sets=Count("pk"), counts=Sum("counts"))
    }
    places = Position.objects.filter(set__version__in=ids).values("set__version_id")
    for row in places.annotate(places=Count("place", distinct=True)):
        found[row["set__version_id"]]["places"] = row["places"]
    return found


def published_versions(season_id: int) -> set[int]:
    """Ids of the versions that published lineups were made for."""
    lineups = Lineup.objects.filter(event__season=season_id, state=LineupState.PUBLISHED)
    return {pk for kept in lineups.values_list("show_versions", flat=True) for pk in kept.values()}


def events_shown(season: Season) -> dict[int, list[Event]]:
    """Version id -> the events, in order, whose newest published lineup was made for it: what
    members' cards show."""
    found: dict[int, list[Event]] = defaultdict(list)
    newest = latest_numbers(season).select_related("event")
    for lineup in newest.order_by("event__date", "event_id"):
        for pk in lineup.show_versions.values():
            found[pk].append(lineup.event)
    return found


def closed_spots(event: Event) -> dict[int, frozenset[int]]:
    """Version of the event's own -> ids of the spots that are closed up in it."""
    own = {v.pk: v.change or {} for v in ShowVersion.objects.filter(for_event=event)}
    found: dict[int, frozenset[int]] = {}
    for pk in own:
        spots, at = set(), own.get(pk)
        while at:
            if at["code"] == "close":
                spots.add(at["spot"])
            at = own.get(at["base"])
        found[pk] = frozenset(spots)
    return found


def field_types(season: Season) -> dict[str, FieldType]:
    """Name -> field: the published ones, then the band's own."""
    own = {
        f.name: FieldType(f.name, f.front_hash, f.back_hash)
        for f in CustomField.objects.filter(season=season)
    }
    return FIELD_TYPES | own


def field_of(season: Season, name: str) -> FieldType:
    """A field by its name; the first published one where the name is gone."""
    return field_types(season).get(name, FIELD_TYPES["60 ft"])


def drill_settings(season: Season) -> DrillSettings:
    """How the season writes and checks drill; the usual way while staff have set nothing."""
    return DrillSettings.objects.filter(season=season).first() or DrillSettings(season=season)
