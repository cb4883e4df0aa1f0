"""Two wishes for one seat: the card they become, and its decision."""

from __future__ import annotations

import uuid

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
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import revise
from roster.ranks.models import Spot


def decide_clash(*, actor: User, clash: Clash, take: bool, reason: str = "") -> Clash:
    """Staff choose between who stands there and who was wanted."""
    with recorded(actor, "decide between two fills"):
        event = clash.event
        Event.objects.select_for_update().get(pk=event.pk)
        clash = Clash.objects.select_for_update().get(pk=clash.pk)
        if clash.state != ClashState.OPEN:
            raise Refused("Somebody has decided this already.")
        if take:
            last = lineup_queries.published(event)
            assert last is not None
            _refuse_outdated(last, clash)
            left = clock_to_change(event, [g for g, *_ in clash.seats]).ids
            seats: dict[Seat, str | None] = {
                (key(g), key(s)): key(clash.wanted_id) for g, s, *_ in clash.seats if g in left
            }
            made = revise(actor=actor, event=event, built=build(event), seats=seats, reason=reason)
            note_change(actor, event, last, made, clash.member_out, None, uuid.uuid4())
        clash.state = ClashState.CHANGED if take else ClashState.KEPT
        clash.decided_by, clash.decided_at = actor, timezone.now()
        clash.save()
    return clash


def clash_card(actor: User, event: Event, last: Lineup, wish: Wish) -> Clash | None:
    """A card, when the seats the wish is about have got somebody else since it was made."""
    seen = Lineup.objects.filter(event=event, number=wish.seen).first()
    if seen is None:
        raise Refused("The page is of a revision that never was: open the desk again.")
    if seen.pk == last.pk:
        return None
    now = seats_of(placements_of(last))
    theirs = wish.seats_in(seats_of(placements_of(seen)))
    out = key(wish.out.pk) if wish.out else None
    others = {s: now.get(s) for s in theirs if now.get(s) not in (None, out)}
    if not others or wish.into is None or set(others.values()) == {key(wish.into.pk)}:
        return None
    standing = min(m for m in others.values() if m)
    return Clash.objects.create(
        event=event,
        key=wish.key,
        spot=Spot.objects.get(pk=int(min(others)[1])),
        member_out=wish.out,
        standing_id=int(standing),
        wanted=wish.into,
        seats=[[int(g), int(s), int(m)] for (g, s), m in sorted(others.items()) if m],
        wanted_by=actor,
        wanted_at=wish.at,
    )


def _refuse_outdated(last: Lineup, clash: Clash) -> None:
    """The card named who stands there; nobody else is overwritten, and no other spot emptied."""
    now, wanted = seats_of(placements_of(last)), key(clash.wanted_id)
    stood = {
        (key(g), key(s)): key(m[0] if m else clash.standing_id or 0) for g, s, *m in clash.seats
    }
    if any(now.get(seat) not in (None, wanted, member) for seat, member in stood.items()):
        raise Refused(f"{clash.spot} has changed hands again: change it on the desk instead.")
    segments = {segment for segment, _ in stood}
    if any(m == wanted and g in segments and (g, s) not in stood for (g, s), m in now.items()):
        raise Refused(f"{clash.wanted} marches another spot by now: change it on the desk instead.")
