"""A wish that came too late or cannot be done: the card it becomes, and its decision."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.models import Event
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash
from drill.gameday.queries import clock_to_change
from drill.gameday.services.desk import Wish
from drill.gameday.services.noting import note_change
from drill.gameday.services.pins import drop_pins
from drill.gameday.wording import decided_words
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import away_from, build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.notices import tell_to_stand_by
from drill.publishing.services.revising import revise
from roster.people.models import Member
from roster.ranks.models import Spot

Seats = Mapping[Seat, str | None]


def decide_clash(*, actor: User, clash: Clash, take: bool, reason: str = "") -> Clash:
    """Staff choose between what stands and what was wanted; who was not chosen is told to stand
    by. After the cut-off a change needs a ``reason``."""
    with recorded(actor, "decide between two fills"):
        event = clash.event
        Event.objects.select_for_update().get(pk=event.pk)
        clash = Clash.objects.select_for_update().get(pk=clash.pk)
        if clash.state != ClashState.OPEN:
            who = clash.decided_by or "Somebody"
            raise Refused(f"{who} already decided this: {decided_words(clash)}")
        last = lineup_queries.published(event)
        assert last is not None
        if take:
            last = _take(actor, event, last, clash, reason)
        clash.state = ClashState.CHANGED if take else ClashState.KEPT
        clash.decided_by, clash.decided_at = actor, timezone.now()
        clash.save()
        _tell_the_other(last, clash)
    return clash


def seats_meant(event: Event, last: Lineup, wish: Wish) -> Seats:
    """The seats the wish is about, as its page showed them, with who stands there now.

    Refused when the page is of a revision that never was.
    """
    seen = Lineup.objects.filter(event=event, number=wish.seen).first()
    if seen is None:
        raise Refused("This page is out of date: open the desk again.")
    now = seats_of(placements_of(last))
    shown = seats_of(placements_of(seen)) if seen.pk != last.pk else now
    return {seat: now[seat] for seat in wish.seats_in(shown) if seat in now}


def is_so_already(meant: Seats, wish: Wish) -> bool:
    """Nobody has to do anything: the spots stand as the wish wants them, or there are none."""
    chosen, holders = _chosen(wish), set(meant.values())
    return not holders or (chosen in holders and holders <= {chosen, None})


def is_overtaken(event: Event, meant: Seats, wish: Wish) -> bool:
    """Somebody else has the spots, or gave them up; or whoever was to go was said to be there
    after the wish was made."""
    out, chosen = _key(wish.out), _chosen(wish)
    holders = set(meant.values())
    if out not in holders or not holders <= {out, chosen, None}:
        return True
    if wish.out is None:
        return False
    away = away_from(event, wish.out)
    return away is not None and any(g not in away for (g, _), m in meant.items() if m == out)


def has_moved(event: Event, last: Lineup, meant: Seats, wish: Wish) -> bool:
    """Whoever steps in, or moves, marches another spot in these segments than on the page."""
    seen = event.lineups.get(number=wish.seen)
    if seen.pk == last.pk:
        return False
    moving = [member for member in (wish.into, wish.mover) if member is not None]
    return any(
        seat not in _leaves(seen, meant, member)
        for member in moving
        for seat in _leaves(last, meant, member)
    )


def make_card(actor: User, event: Event, last: Lineup, wish: Wish, meant: Seats) -> Clash:
    """The wish beside what stands, for staff to choose."""
    seats = [[int(g), int(s), int(m) if m else None] for (g, s), m in sorted(meant.items())]
    others = sorted({m for m in meant.values() if m} - {_key(wish.out) or ""})
    stands = wish.out is not None and _key(wish.out) in meant.values()
    return Clash.objects.create(
        event=event,
        key=wish.key,
        spot=Spot.objects.get(pk=int(min(meant)[1])),
        member_out=wish.out,
        standing_id=int(others[0]) if others else (wish.out.pk if wish.out and stands else None),
        wanted=wish.into,
        mover=wish.mover if wish.into else None,
        seats=seats,
        leaves=_leaves(last, meant, wish.into),
        wanted_by=actor,
        wanted_at=wish.at,
        arrived_at=timezone.now(),
    )


def _chosen(wish: Wish) -> str | None:
    return _key(wish.mover or wish.into)


def _leaves(last: Lineup, meant: Seats, member: Member | None) -> list[list[int]]:
    """What the member marches in the same segments, and would leave."""
    if member is None:
        return []
    segments = {int(g) for g, _ in meant}
    rows = last.rows.filter(member=member, segment__in=segments).order_by("segment", "spot")
    found = rows.values_list("segment_id", "spot_id")
    return [[g, s] for g, s in found if (key(g), key(s)) not in meant]


def seats_if_taken(now: Seats, clash: Clash, segments: Collection[str]) -> Seats:
    """Seat -> its new member in the segments, where the card's wish is done: who steps in leaves
    what they march, and in a chain takes what the mover leaves."""
    chosen, mover, wanted = _key(clash.chosen), _key(clash.mover), _key(clash.wanted)
    stood = [seat for seat in _stood(clash) if seat[0] in segments]
    within = {segment for segment, _ in stood}

    def marched_by(member: str | None) -> set[Seat]:
        return {s for s, m in now.items() if member and m == member and s[0] in within}

    left = marched_by(mover).difference(stood)
    opened = marched_by(wanted).difference(stood, left)
    filled = dict.fromkeys(stood, chosen) | dict.fromkeys(left, wanted)
    return dict.fromkeys(opened) | filled


def seats_opened(now: Seats, clash: Clash, segments: Collection[str]) -> list[Seat]:
    """What nobody would march any more if the card's wish were done."""
    after = seats_if_taken(now, clash, segments)
    return sorted(seat for seat, member in after.items() if member is None and now.get(seat))


def _take(actor: User, event: Event, last: Lineup, clash: Clash, reason: str) -> Lineup:
    """Publish what was wanted."""
    now, stood = seats_of(placements_of(last)), _stood(clash)
    _refuse_outdated(now, stood, clash)
    at = clock_to_change(event, [int(g) for g, _ in stood])
    pins = drop_pins(event, last, clash.member_out, at.left) if clash.member_out else ()
    seats = seats_if_taken(now, clash, at.keys)
    made = revise(actor=actor, event=event, built=build(event), seats=seats, reason=reason)
    note_change(actor, event, last, made, clash.member_out, None, uuid.uuid4(), pins)
    return made


def _stood(clash: Clash) -> Seats:
    """Who stood where when the wish arrived; the oldest cards name one for all seats."""
    return {
        (key(g), key(s)): (key(m[0]) if m[0] else None) if m else key(clash.standing_id or 0)
        for g, s, *m in clash.seats
    }


def _refuse_outdated(now: Seats, stood: Seats, clash: Clash) -> None:
    """The card named who stands there; nobody else is overwritten, and no other spot emptied."""
    chosen, wanted = _key(clash.chosen), _key(clash.wanted)
    if any(now.get(seat) not in (None, chosen, member) for seat, member in stood.items()):
        raise Refused(f"{clash.spot} has changed hands again: change it at the desk instead.")
    segments = {segment for segment, _ in stood}
    named = stood.keys() | {(key(g), key(s)) for g, s in clash.leaves}
    others = (s for s, m in now.items() if m == wanted and s[0] in segments and s not in named)
    if wanted and any(others):
        raise Refused(
            f"{clash.wanted} already marches another spot: change it at the desk instead."
        )


def _tell_the_other(lineup: Lineup, clash: Clash) -> None:
    """Whoever was considered for the spot and marches nothing now stands by."""
    now, stood = seats_of(placements_of(lineup)), _stood(clash)
    considered = {m for m in stood.values() if m} | {_key(clash.wanted) or ""}
    for member in Member.objects.filter(pk__in=[int(m) for m in considered if m]):
        free = [
            seat
            for seat in sorted(stood)
            if not any(g == seat[0] and m == key(member.pk) for (g, _), m in now.items())
        ]
        if member.pk != clash.member_out_id and free:
            tell_to_stand_by(lineup, member, [(g, s, now.get((g, s))) for g, s in free])


def _key(member: Member | None) -> str | None:
    return key(member.pk) if member else None
