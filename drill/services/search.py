"""What each reader may find: staff everything, others what their own pages show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from django.utils import timezone
from django.utils.dateformat import format as formatted

from bandops.lib.finding import Entry
from drill import queries
from drill.models import Event, Lineup, Show
from roster import queries as roster
from roster.enums import MemberStatus
from roster.models import Holding, Member, Season, Spot
from roster.viewer import Viewer

MEMBERS, RANKS, EVENTS, SHOWS = "Members", "Ranks", "Events", "Shows"
INSTRUMENTS, PARTS, SPOTS = "Instruments", "Parts", "Spots"
KINDS = (MEMBERS, RANKS, EVENTS, SHOWS, INSTRUMENTS, PARTS, SPOTS)


def entries_for(viewer: Viewer) -> list[Entry]:
    """Everything the reader may find, each thing once (a fixed number of queries)."""
    season = viewer.this_season
    if viewer.is_staff:
        return list(_for_staff(season))
    found: list[Entry] = []
    if viewer.member is not None:
        found += _own(viewer.member)
    if viewer.is_rank_leader:
        found += _of_ranks(viewer)
    if viewer.is_gear_manager:
        found += _for_gear(season)
    if viewer.member is not None:
        found += _published(season)
    once: dict[tuple[str, int], Entry] = {}
    for entry in found:
        once.setdefault((entry.kind, entry.key), entry)
    return list(once.values())


def _for_staff(season: Season) -> Iterator[Entry]:
    spots = list(roster.spots_with_holders(season))
    places = {holder.pk: spot.label for spot in spots if (holder := _holder(spot))}
    for member in Member.objects.filter(season=season).select_related("person"):
        person = member.person
        note = places.get(member.pk, "")
        if member.status != MemberStatus.ACTIVE:
            note = member.get_status_display()
        words = f"{person.legal_name} {person.student_number}"
        yield Entry(MEMBERS, member.name, member.pk, words, note, "member", member.pk)
    for rank in roster.ranks(season):
        note = f"led by {rank.leader}" if rank.leader else ""
        yield Entry(RANKS, str(rank), rank.pk, "", note, "rank", rank.pk)
    for event in Event.objects.filter(season=season):
        yield _event(event, "event")
    for show in Show.objects.filter(season=season):
        yield Entry(SHOWS, show.name, show.pk, "show", "", "show", show.pk)
    for instrument in roster.instruments(season).prefetch_related(None):
        key = instrument.pk
        yield Entry(INSTRUMENTS, instrument.name, key, "", "", "instrument-edit", key)
    for part in roster.parts(season):
        words, of = f"{part.code} {part.instrument}", str(part.instrument)
        note = of if of != part.name else ""
        yield Entry(PARTS, part.name, part.pk, words, note, "part-edit", part.pk)
    for spot in spots:
        yield _spot(spot, _holder(spot), "spot", spot.pk)


def _for_gear(season: Season) -> Iterator[Entry]:
    """The names of their list, and when what is worn."""
    for member in roster.active_members(season):
        yield Entry(MEMBERS, member.name, member.pk, "", _place(member), "sizes")
    for event in Event.objects.filter(season=season):
        yield _event(event, "")


def _own(me: Member) -> Iterator[Entry]:
    yield Entry(MEMBERS, me.name, me.pk, "", "you", "card")
    open_holdings = Holding.objects.filter(member=me, ends__isnull=True)
    for holding in open_holdings.select_related("spot__rank", "spot__part__instrument"):
        yield _spot(holding.spot, me, "card", None)


def _of_ranks(viewer: Viewer) -> Iterator[Entry]:
    """A leader's own ranks, as they stand today."""
    ids = [rank.pk for rank in viewer.ranks_led]
    for member in roster.members_of_ranks(viewer.this_season, ids):
        yield Entry(MEMBERS, member.name, member.pk, "", _place(member), "my-rank")
    for rank in viewer.ranks_led:
        yield Entry(RANKS, str(rank), rank.pk, "", "yours", "my-rank")
    for spot in roster.spots_with_holders(viewer.this_season).filter(rank__in=ids):
        yield _spot(spot, _holder(spot), "my-rank", None)


def _published(season: Season) -> Iterator[Entry]:
    """Events with a lineup, and who marches where in the one that members go by now."""
    newest = queries.latest_numbers(season).select_related("event").order_by("event__date", "pk")
    lineups = list(newest)
    for lineup in lineups:
        yield _event(lineup.event, "card-of")
    if lineups:
        yield from _marching(_current(lineups))


def _current(lineups: list[Lineup]) -> Lineup:
    """Of the next event that has one, else of the last."""
    today = timezone.localdate()
    return next((lineup for lineup in lineups if lineup.event.date >= today), lineups[-1])


def _marching(lineup: Lineup) -> Iterator[Entry]:
    spots: dict[Spot, list[Member]] = defaultdict(list)
    members: dict[Member, list[Spot]] = defaultdict(list)
    for row in queries.rows(lineup).filter(member__isnull=False):
        if row.member is not None:
            spots[row.spot].append(row.member)
            members[row.member].append(row.spot)
    for member, marched in members.items():
        note = f"{_listed(marched)}, {_listed(spot.rank for spot in marched)}: {lineup.event}"
        yield Entry(MEMBERS, member.name, member.pk, "", note)
    for spot, marching in spots.items():
        names = _listed(marching)
        note, words = f"{names}: {lineup.event}", f"{names} {spot.part}"
        yield Entry(SPOTS, spot.label, spot.pk, words, note, code=True)


def _spot(spot: Spot, holder: Member | None, page: str, page_of: int | None) -> Entry:
    words = f"{holder or ''} {spot.part} {spot.part.instrument}"
    note = f"{spot.part}, {holder or 'nobody holds it'}"
    return Entry(SPOTS, spot.label, spot.pk, words, note, page, page_of, code=True)


def _event(event: Event, page: str) -> Entry:
    day = formatted(event.date, "D j M")
    note = f"{day}, {event.venue}" if event.venue else day
    words = f"{event.venue} {event.kind} {formatted(event.date, 'l j F')}"
    return Entry(EVENTS, event.name, event.pk, words, note, page, event.pk if page else None)


def _holder(spot: Spot) -> Member | None:
    open_holdings: list[Holding] = spot.open_holdings  # type: ignore[attr-defined]
    return open_holdings[0].member if open_holdings else None


def _place(member: Member) -> str:
    open_holdings: list[Holding] = member.open_holdings  # type: ignore[attr-defined]
    return open_holdings[0].spot.label if open_holdings else ""


def _listed(things: Iterable[object]) -> str:
    return ", ".join(dict.fromkeys(str(thing) for thing in things))
