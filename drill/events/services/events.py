"""Events and their segments."""

from __future__ import annotations

import datetime

from django.db.models import ProtectedError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import day_words, in_zone, span_words
from bandops.lib.errors import Refused
from drill.events.models import Event, Segment
from drill.events.ties import BEFORE_REMOVAL, COPIED
from drill.field.enums import FieldType
from drill.field.queries import field_types
from drill.shows.models import Show, ShowVersion
from roster.people.enums import MemberStatus
from roster.people.models import Member, Season


def save_event(*, actor: User, event: Event) -> Event:
    """Add or change an event; its day lies in the season."""
    event.full_clean(exclude=["must_travel"])
    _refuse_outside(event.season, event.date)
    with recorded(actor, "save event"):
        event.save()
    return event


def _refuse_outside(season: Season, day: datetime.date) -> None:
    if not season.starts <= day <= season.ends:
        first, last = day_words(season.starts), day_words(season.ends)
        raise Refused(
            f"{day_words(day)} is outside the season ({first} to {last}). "
            "A director can change the season's dates."
        )


def remove_event(*, actor: User, event: Event) -> bool:
    """Remove an event for which nothing was published; True when a draft lineup goes with it.

    A draft is there as soon as somebody has looked at the lineup: it keeps no event.
    """
    with recorded(actor, "remove event"):
        Event.objects.select_for_update().get(pk=event.pk)
        with_it = BEFORE_REMOVAL.ask(event)
        ShowVersion.objects.filter(at_event__event=event).delete()
        try:
            event.delete()
        except ProtectedError as error:
            holding = ", ".join(sorted(str(it) for it in error.protected_objects))
            raise Refused(f"{event} is needed for {holding}, so it stays.") from error
    return any(with_it)


def save_segment(*, actor: User, segment: Segment) -> Segment:
    """Add or change a segment, whose times are its own then; segments of one event do not
    overlap."""
    with recorded(actor, "save segment"):
        event = Event.objects.select_for_update().get(pk=segment.event_id)
        if segment.order is None:
            last = event.segments.order_by("-order").first()
            segment.order = last.order + 1 if last else 1
        segment.times_proposed = False
        segment.full_clean()
        others = event.segments.exclude(pk=segment.pk)
        clash = next((it for it in others if event.overlap(segment, it)), None)
        if clash is not None:
            times = span_words(clash.starts, clash.ends)
            raise Refused(f"{segment.name} overlaps {clash.name} ({times}).")
        segment.save()
    return segment


def remove_segment(*, actor: User, segment: Segment) -> None:
    """Remove a segment no lineup uses."""
    try:
        with recorded(actor, "remove segment"):
            segment.delete()
    except ProtectedError as error:
        raise Refused(f"{segment} is in a lineup, so it stays.") from error


def copy_event(
    *, actor: User, event: Event, name: str, date: datetime.date, season: Season | None = None
) -> Event:
    """The event on another day, with all that it consists of; the cut-off keeps its distance.

    In another ``season`` it is for whoever is in the band then, with the shows and the field that
    are called the same there.
    """
    season = season or event.season
    _refuse_outside(season, date)
    with recorded(actor, "copy event"):
        segments = list(event.segments.select_related("show"))
        must = Member.objects.filter(season=season, person__memberships__must_travel_to=event)
        fresh = Event.objects.get(pk=event.pk)
        fresh.pk, fresh.name, fresh.date, fresh.cut_off = None, name, date, _cut_off_on(event, date)
        fresh._state.adding = True
        fresh.season = season
        if fresh.field_type not in field_types(season):
            fresh.field_type = FieldType.HASH_60
        if Event.objects.filter(season=season, name=name, date=date).exists():
            raise Refused(f"There is already a {name} on {day_words(date)}.")
        fresh.full_clean(exclude=["must_travel"])
        fresh.save()
        fresh.must_travel.set(must.filter(status=MemberStatus.ACTIVE))
        for segment in segments:
            segment.pk, segment.event = None, fresh
            segment.show = show_in(season, segment.show)
            segment._state.adding = True
            segment.save()
        COPIED.ask(event, fresh)
    return fresh


def show_in(season: Season, show: Show | None) -> Show | None:
    """The show itself in its own season, in another the one of its name; None without one."""
    if show is None or show.season_id == season.pk:
        return show
    return Show.objects.filter(season=season, name=show.name).first()


def _cut_off_on(event: Event, date: datetime.date) -> datetime.datetime | None:
    if event.cut_off is None:
        return None
    # Local time stays the same across a change of the clocks.
    local = in_zone(event.cut_off, event.zone).replace(tzinfo=None)
    try:
        return (local + (date - event.date)).replace(tzinfo=event.zone)
    except OverflowError:
        raise Refused(f"The cut-off is nowhere near {event}: change it first.") from None


def set_must_travel(*, actor: User, event: Event, members: list[Member]) -> None:
    """Who must come along whether they march or not."""
    with recorded(actor, "choose who must travel"):
        if event.travel_limit is not None and len(members) > event.travel_limit:
            raise Refused(f"{len(members)} people are more than the limit of {event.travel_limit}.")
        event.must_travel.set(members)
