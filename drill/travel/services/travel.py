"""The travel list: made from a lineup, changed by hand, posted, taken back."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.outbox.dispatch import add_job
from drill.absences.core import availability as states
from drill.events.enums import TravelRole, TravelState
from drill.events.models import Event, Traveller, TravelList
from drill.lineup import queries as lineup_queries
from drill.lineup.core import problem as core
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork, solve
from drill.lineup.models import Lineup
from drill.lineup.services.lineups import settle
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import LIMITS, placements_of
from drill.travel.core import travel, trips
from roster.people.enums import Paper
from roster.people.models import Member

NO_LIST = "There is no travel list yet: make it first."
NO_LINEUP = "No lineup keeps staff's orders and the travel limit: look at Who marches first."


@dataclass(frozen=True)
class Marching:
    """The lineup that a travel list is about, judged as if nobody stayed at home; ``lineup`` is
    None where it is the solver's proposal. ``emptied``: (segment, spot) whose marchers can no
    longer march; ``published``: the newest revision where ``lineup`` is a draft beside it."""

    built: Built
    placements: tuple[core.Placement, ...]
    lineup: Lineup | None
    emptied: tuple[tuple[str, str], ...] = ()
    published: Lineup | None = None

    @cached_property
    def trip(self) -> trips.Trip:
        chances = {seat: _chance(standing) for seat, standing in self.built.standings.items()}
        return travel.trip(self.built.problem, self.placements, chances)

    @cached_property
    def spots(self) -> Mapping[str, Mapping[str, list[str]]]:
        """Member -> spot -> segments."""
        return travel.spots_of(self.placements)

    @cached_property
    def must(self) -> frozenset[str]:
        return frozenset(m.key for m in self.built.problem.members if m.must_travel)

    def role(self, member: str) -> TravelRole:
        """As what the member comes."""
        if member in self.spots:
            return TravelRole.MARCHES
        return TravelRole.MUST if member in self.must else TravelRole.COVER

    def where(self, member: str) -> str:
        """The spots the member marches: '1-3', or '1-3 (Pregame)' when not in every segment."""
        segments = len(self.built.problem.segments)
        words = []
        for spot, marched in self.spots.get(member, {}).items():
            names = ", ".join(self.built.segments[g].name for g in marched)
            label = self.built.spots[spot].label
            words.append(label if len(marched) == segments else f"{label} ({names})")
        return ", ".join(words)


def _chance(standing: states.Standing) -> float:
    if standing.state is states.State.IN:
        return trips.BASE_CHANCE
    return float(standing.chance)


def marching(event: Event) -> Marching:
    """The draft, else the newest revision, else the proposal; Refused when there can be none."""
    built = build(event, by_travel_list=False)
    draft, published = lineup_queries.draft(event), lineup_queries.published(event)
    lineup = draft or published
    if lineup is not None:
        placements, emptied = settle(built, placements_of(lineup))
        beside = published if draft is not None else None
        return Marching(built, placements, lineup, tuple(emptied), beside)
    try:
        return Marching(built, solve(built.problem, limits=LIMITS).placements, None)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        raise Refused(NO_LINEUP) from error


def chosen(it: Marching) -> dict[str, TravelRole]:
    """Every marcher, whoever must travel, then covers as far as the limit goes."""
    along = it.trip.marchers | it.must
    covers = travel.fill(it.built.problem, it.trip, along, _room(it, along))
    return {member: it.role(member) for member in sorted(along | set(covers))}


def _room(it: Marching, along: Collection[str]) -> int | None:
    limit = it.built.problem.travel_limit
    return None if limit is None else max(0, limit - len(along))


def make_list(*, actor: User, event: Event) -> TravelList:
    """The draft list of the lineup as it stands; replaces an earlier draft."""
    with recorded(actor, "make travel list"):
        Event.objects.select_for_update().get(pk=event.pk)
        it, _ = TravelList.objects.get_or_create(event=event, defaults={"made_by": actor})
        if it.state == TravelState.POSTED:
            raise Refused("The list is posted: take it back to a draft first.")
        _write(it, chosen(marching(event)))
    return it


def fill_list(*, actor: User, event: Event) -> list[Member]:
    """Covers for the places that are left once every marcher and whoever must travel has one,
    whoever helps most first; returns them."""
    with recorded(actor, "fill travel list"):
        it, now = _locked(event), marching(event)
        along = _listed(it)
        first = along | now.trip.marchers | now.must
        if _room(now, first) == 0:
            raise Refused("No place is left for covers.")
        covers = travel.fill(now.built.problem, now.trip, first, _room(now, first))
        if not covers:
            raise Refused("Nobody who stays at home could march a spot of this lineup.")
        _write(it, {member: now.role(member) for member in along | set(covers)})
        _posted_anew(it)
    return [now.built.members[member] for member in covers]


def add_member(*, actor: User, event: Event, member: Member) -> None:
    """One more on the list; Refused when it is full or they cannot come."""
    with recorded(actor, "add to travel list"):
        it, now = _locked(event), marching(event)
        along, who = _listed(it), key(member.pk)
        if who in along:
            return
        if who not in now.built.members:
            raise Refused(f"{member} is not active this season.")
        if _room(now, along) == 0:
            raise Refused(
                f"The list is full: {len(along)} of {event.travel_limit}. Take somebody off first."
            )
        if who not in now.must and _is_away(now, who):
            raise Refused(
                f"{member} is not available for {event}. "
                "If they come along anyway, name them under “Who must travel”."
            )
        _write(it, {m: now.role(m) for m in along | {who}})
        _posted_anew(it)


def remove_member(*, actor: User, event: Event, member: Member) -> str:
    """Take somebody off; returns the spots that lose their marcher, which a draft may, a posted
    list never."""
    with recorded(actor, "take off travel list"):
        it, now = _locked(event), marching(event)
        along, who = _listed(it), key(member.pk)
        if who not in along:
            return ""
        if who in now.must:
            raise Refused(f"{member} must travel: change “Who must travel” first.")
        where = now.where(who)
        if where and it.state == TravelState.POSTED:
            raise Refused(
                f"{member} marches {where}. Put somebody else there or leave it open first, "
                "or take the list back to a draft."
            )
        _write(it, {m: now.role(m) for m in along - {who}})
        _posted_anew(it)
    return where


def post_list(*, actor: User, event: Event) -> TravelList:
    """From now on whoever is not on the list cannot march the event."""
    with recorded(actor, "post travel list"):
        it = _locked(event)
        if it.state == TravelState.POSTED:
            return it
        now, along = marching(event), _listed(it)
        found = faults(now, it, along)
        if found:
            raise Refused("The list cannot be posted:", found)
        _write(it, {member: now.role(member) for member in along})
        it.state = TravelState.POSTED
        _posted_anew(it)
    return it


def take_back(*, actor: User, event: Event) -> TravelList:
    """A draft again: everybody may march."""
    with recorded(actor, "take travel list back"):
        it = _locked(event)
        if it.state == TravelState.POSTED:
            it.state, it.posted_at = TravelState.DRAFT, None
            it.save()
    return it


def faults(now: Marching, it: TravelList, along: frozenset[str]) -> tuple[str, ...]:
    """Why the list cannot be posted, each with its names."""
    people, found = now.built.members, []
    limit = now.built.problem.travel_limit
    if not along:
        found.append("Nobody is on it.")
    if limit is not None and len(along) > limit:
        found.append(
            f"{len(along)} people are {len(along) - limit} more than the limit of {limit}. "
            "Take covers off, or change the lineup so that fewer march."
        )
    found += [
        f"{now.where(m)}: {people[m]} marches it and is not on the list. "
        "Keep them, or first change the lineup or leave the spot open."
        for m in missing(now, along)
    ]
    found += [
        f"{now.built.segments[g]} {now.built.spots[s]}: who was placed can no longer march. "
        "Fill it or leave it open first."
        for g, s in now.emptied
        if (g, s) not in now.built.problem.left_open
    ]
    found += [f"{people[m]} must travel and is not on the list." for m in sorted(now.must - along)]
    pinned = {p.member: p.spot for p in now.built.problem.pins if p.member not in along}
    found += [
        f"{people[m]} is pinned to {now.built.spots[spot]} and is not on the list."
        for m, spot in sorted(pinned.items())
        if m not in now.spots
    ]
    gone = it.travellers.exclude(member__in=[m.pk for m in people.values()])
    found += [f"{t.member} is not active any more." for t in gone.select_related("member__person")]
    return tuple(found)


def published_only(event: Event) -> list[str]:
    """Marchers of the newest revision whom neither the draft places nor the list names, each in
    a sentence: until the draft is published their cards say both."""
    now, it = marching(event), TravelList.objects.filter(event=event).first()
    if now.published is None or it is None:
        return []
    along = _listed(it)
    spots = travel.spots_of(placements_of(now.published))
    lost = [m for m in spots if m not in along and m not in now.spots and m in now.built.members]
    return [
        f"{now.built.members[m]} marches {', '.join(str(now.built.spots[s]) for s in spots[m])} in "
        f"revision {now.published.number} and does not travel: publish the draft to tell them."
        for m in sorted(lost)
    ]


def missing(now: Marching, along: Collection[str]) -> list[str]:
    """Marchers of performing spots who are not on the list, by spot."""
    order = {spot: n for n, spot in enumerate(now.built.spots)}
    absent = [m for m in now.spots if m not in along]
    return sorted(absent, key=lambda m: min(order[spot] for spot in now.spots[m]))


def request_prints(*, actor: User, event: Event, paper: str) -> None:
    """The posted list on another paper."""
    if paper not in Paper.values:
        raise Refused("Choose a paper.")
    with recorded(actor, "ask for prints"):
        it = _locked(event)
        if it.state != TravelState.POSTED:
            raise Refused("The list is printed once it is posted.")
        _add_print(it, paper)


def group_of(it: TravelList) -> str:
    """The name that joins a list's jobs and files."""
    return f"travel:{it.pk}"


def print_key(it: TravelList) -> str:
    """What the keys of the newest posting's jobs and files begin with."""
    return f"{group_of(it)}:{it.posted_at.isoformat() if it.posted_at else 'draft'}:"


def _is_away(now: Marching, who: str) -> bool:
    """True when they are away in every marching segment."""
    member = next(m for m in now.built.problem.members if m.key == who)
    return bool(member.away) and len(member.away) == len(now.built.problem.segments)


def _locked(event: Event) -> TravelList:
    """The list with the event's row locked, so that changes follow one another."""
    Event.objects.select_for_update().get(pk=event.pk)
    it = TravelList.objects.select_related("event__season").filter(event=event).first()
    if it is None:
        raise Refused(NO_LIST)
    return it


def _listed(it: TravelList) -> frozenset[str]:
    return frozenset(key(pk) for pk in it.travellers.values_list("member_id", flat=True))


def _write(it: TravelList, wanted: Mapping[str, TravelRole]) -> None:
    """Bring the rows to what is wanted, touching only those that differ."""
    now = {key(t.member_id): t for t in it.travellers.all()}
    it.travellers.filter(pk__in=[t.pk for m, t in now.items() if m not in wanted]).delete()
    changed = [now[m] for m, role in wanted.items() if m in now and now[m].role != role]
    for traveller in changed:
        traveller.role = wanted[key(traveller.member_id)]
    Traveller.objects.bulk_update(changed, ["role"])
    Traveller.objects.bulk_create(
        Traveller(list=it, member_id=int(m), role=role)
        for m, role in wanted.items()
        if m not in now
    )


def _posted_anew(it: TravelList) -> None:
    """A posted list carries the time of its last change and is printed again."""
    if it.state != TravelState.POSTED:
        return
    it.posted_at = timezone.now()
    it.save()
    _add_print(it, it.event.season.paper)


def _add_print(it: TravelList, paper: str) -> None:
    assert it.posted_at is not None
    add_job(
        key=f"{print_key(it)}{paper}",
        kind="travel.list",
        group=group_of(it),
        payload={"list": it.pk, "posted": it.posted_at.isoformat(), "paper": paper},
    )
