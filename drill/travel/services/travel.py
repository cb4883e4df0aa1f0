"""The travel list: made from a lineup, changed by hand, posted, taken back."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.enums import TravelRole, TravelState
from drill.events.models import Event, Traveller, TravelList
from drill.lineup.services.proposals import placements_of
from drill.travel.core import travel
from drill.travel.services.marching import chosen, is_away, marching, room_left
from drill.travel.services.travel_faults import faults
from drill.travel.services.travel_notices import tell_changes
from drill.travel.services.travel_prints import add_print
from roster.people.enums import Paper
from roster.people.models import Member

NO_LIST = "There is no travel list yet: make one first."


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
    """Backups for the places that are left once every marcher and whoever must travel has one,
    whoever helps most first; returns them."""
    with recorded(actor, "fill travel list"):
        it, now = _locked(event), marching(event)
        along = _listed(it)
        first = along | now.trip.marchers | now.must
        if room_left(now, first) == 0:
            raise Refused("No seats left for backups.")
        backups = travel.fill(now.built.problem, now.trip, first, room_left(now, first))
        if not backups:
            raise Refused("Nobody staying home could march a spot in this lineup.")
        _write(it, {member: now.role(member) for member in along | set(backups)})
        _posted_anew(it)
    return [now.built.members[member] for member in backups]


def add_member(*, actor: User, event: Event, member: Member) -> None:
    """One more on the list; Refused when it is full or they cannot come."""
    with recorded(actor, "add to travel list"):
        it, now = _locked(event), marching(event)
        along, who = _listed(it), key(member.pk)
        if who in along:
            return
        if who not in now.built.members:
            raise Refused(f"{member} is not active this season.")
        if room_left(now, along) == 0:
            raise Refused(
                f"The list is full: {len(along)} of {event.travel_limit}. Take somebody off first."
            )
        if who not in now.must and is_away(now, who):
            raise Refused(
                f"{member} is not available for {event}. "
                "If they are coming anyway, add them under “Who must travel”."
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
            raise Refused("You can't post the list yet:", found)
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


def drop_members(*, actor: User, event: Event, members: Collection[Member]) -> list[str]:
    """Take off whoever may no longer march the event, unless they must travel; in sentences. A
    posted list is printed again."""
    it = TravelList.objects.select_related("event__season").filter(event=event).first()
    if it is None:
        return []
    must = event.must_travel.values("pk")
    with recorded(actor, "take off travel list"):
        rows = it.travellers.filter(member__in=members).exclude(member__in=must)
        names = [str(t.member) for t in rows.select_related("member__person")]
        rows.delete()
        if names:
            _posted_anew(it)
    return [f"{event}: {name} is off the travel list." for name in names]


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


def request_prints(*, actor: User, event: Event, paper: str) -> None:
    """The posted list on another paper."""
    if paper not in Paper.values:
        raise Refused("Choose a paper size.")
    with recorded(actor, "ask for prints"):
        it = _locked(event)
        if it.state != TravelState.POSTED:
            raise Refused("The list is printed once it is posted.")
        add_print(it, paper)


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
    """A posted list carries the time of its last change, is printed again, and whoever came on or
    off since is told."""
    if it.state != TravelState.POSTED:
        return
    it.posted_at = timezone.now()
    it.save()
    add_print(it, it.event.season.paper)
    tell_changes(it)
