"""Somebody who is entered as out, and marches after all."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import hour_words
from bandops.lib.errors import Refused
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.absences.services.absences import withdraw_absence
from drill.absences.services.standings import standings_of
from drill.events.models import Event, Segment
from drill.gameday.queries import Clock, clock_to_change
from drill.gameday.services.reporting import keep_said
from roster.people.models import Member


def not_out(
    *, actor: User, event: Event, member: Member, at: datetime.datetime | None = None
) -> None:
    """Whatever says that the member is out of what is left of the event no longer counts. ``at``
    is when it was said, None for now: what was entered after it stands.

    What was entered for this event or its day alone is withdrawn, but of segments that were to
    come when it was entered and are over by now;
    where it is about more days, the member is entered as in after all for this event. Nobody moves
    by it. Refused where nothing says that they are out.
    """
    with recorded(actor, "not out after all"):
        Event.objects.select_for_update().get(pk=event.pk)
        said, left = at or timezone.now(), clock_to_change(event)
        entry = _says_out(event, member, left)
        if entry is None:
            raise Refused(f"{member} is not marked out for {event}: look again.")
        then = [s for s in left.over if event.span(s)[1] > entry.made_at]
        missed = _out_of(event, member, then)
        while entry is not None:
            if entry.made_at > said:
                when = hour_words(entry.made_at, event.zone)
                raise Refused(f"{member} was marked out again at {when}: look again.")
            if _is_of_this_event(entry, event):
                withdraw_absence(actor=actor, absence=entry)
            else:
                _enter_in(actor, event, member)
            entry = _says_out(event, member, left)
        still = _out_of(event, member, left.over)
        for segment in missed:
            if segment not in still:
                keep_said(actor, event, member, segment, uuid.uuid4())


def is_entered_out(event: Event, member: Member) -> bool:
    """True where an entry says that the member is out of something of the event."""
    return any(s.word == "out" for s in standings_of(event, member).values())


def _says_out(event: Event, member: Member, at: Clock) -> Absence | None:
    """The entry that decides that they are out of a segment that is left."""
    found = standings_of(event, member)
    entries = [found[s.pk].entry for s in at.left if found[s.pk].word == "out"]
    return Absence.objects.filter(pk__in=[pk for pk in entries[:1] if pk]).first()


def _out_of(event: Event, member: Member, segments: Iterable[Segment]) -> list[Segment]:
    found = standings_of(event, member)
    return [s for s in segments if found[s.pk].word == "out"]


def _is_of_this_event(entry: Absence, event: Event) -> bool:
    if entry.event_id is not None:
        return True
    return entry.from_date == entry.until_date == event.date


def _enter_in(actor: User, event: Event, member: Member) -> None:
    Absence.objects.create(
        member=member,
        event=event,
        kind=AbsenceKind.IN,
        state=AbsenceState.CONFIRMED,
        reported_by=actor,
    )
