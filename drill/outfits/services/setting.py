"""Setting what is worn, and who goes without."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.events.models import Event
from drill.outfits.models import Excused, Worn
from drill.shows.models import Show
from roster.equipment.models import Kind
from roster.people.models import Instrument, Member


def set_worn(
    *, actor: User, of: Event | Show, kinds: Mapping[Kind, Sequence[Instrument]]
) -> list[Worn]:
    """What an event or a show asks for, and of whom; whatever is not named is not worn."""
    with recorded(actor, "set uniform"):
        where = {"event": of} if isinstance(of, Event) else {"show": of}
        there = {w.kind_id: w for w in Worn.objects.filter(**where)}
        wanted = {kind.pk for kind in kinds}
        for kind, row in there.items():
            if kind not in wanted:
                row.delete()
        found = []
        for of_kind, instruments in kinds.items():
            row = there.get(of_kind.pk) or Worn.objects.create(kind=of_kind, **where)
            row.instruments.set(instruments)
            found.append(row)
    return found


def copy_worn(old: Event, new: Event) -> None:
    """A copied event asks for the same, in the action that copies it; in another season of the
    instruments that are called the same there. What only others had is left out."""
    for row in Worn.objects.filter(event=old).prefetch_related("instruments"):
        named = [it.name for it in row.instruments.all()]
        there = Instrument.objects.filter(season=new.season_id, name__in=named)
        if named and not there:
            continue  # asked of no instrument it would be asked of everybody
        made = Worn.objects.create(event=new, kind=row.kind)
        made.instruments.set(there)


def excuse(*, actor: User, event: Event, member: Member, kind: Kind) -> Excused:
    """The member needs none of the kind for this event."""
    with recorded(actor, "excuse"):
        return Excused.objects.get_or_create(event=event, member=member, kind=kind)[0]


def excuse_no_more(*, actor: User, event: Event, member: Member, kind: Kind) -> None:
    """The member needs one after all."""
    with recorded(actor, "excuse no more"):
        Excused.objects.filter(event=event, member=member, kind=kind).delete()
