"""The load list: what goes along with those who really march."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.events.models import Event
from drill.readiness.models import Loaded
from drill.readiness.services.ready import Ready
from roster.equipment import queries as equipment
from roster.equipment.enums import AT_HAND, Use
from roster.equipment.models import Item, Kind
from roster.equipment.wording import size_of
from roster.people.models import Member


@dataclass(frozen=True)
class Line:
    """An item to load, who marches with it, who has it now where that is somebody else, and how
    far it is."""

    item: Item
    size: str
    member: Member | None
    loaded: Loaded | None
    now_with: Member | None = None

    @property
    def state(self) -> str:
        """'to load', 'on the truck' or 'back'."""
        if self.loaded is None:
            return "to load"
        return "on the truck" if self.loaded.back_at is None else "back"


@dataclass(frozen=True)
class Load:
    """One kind on the list; ``own`` are members who bring their own."""

    kind: Kind
    lines: tuple[Line, ...]
    own: tuple[Member, ...]


def load_list(ready: Ready) -> list[Load]:
    """Kinds that go on the truck: what is with those who march, what they are given from the
    store, and equipment that is nobody's."""
    loaded = {row.item_id: row for row in Loaded.objects.filter(event=ready.event)}
    kinds = list(equipment.kinds().filter(on_truck=True))
    marching = {kind.pk: _who_use(ready, kind) for kind in kinds}
    given = {
        need.item.pk: row.member
        for row in ready.rows
        for need in row.needs
        if need.item is not None
    }
    found = []
    for kind in kinds:
        lines = []
        for item in equipment.items().filter(kind=kind, part_of__isnull=True):
            if item.state not in AT_HAND:
                continue
            issue = next(iter(item.out), None)  # type: ignore[attr-defined]
            holder = issue.member if issue is not None else None
            member = given.get(item.pk) or holder
            goes = item.pk in given
            goes |= holder is not None and holder.person_id in marching[kind.pk]
            goes |= issue is None and kind.use in (Use.ACCESSORY, Use.GUARD)
            if goes:
                other = holder if holder is not None and holder != member else None
                lines.append(Line(item, size_of(item), member, loaded.get(item.pk), other))
        own = _own(ready, kind) if kind.use == Use.INSTRUMENT else ()
        if lines or own:
            found.append(Load(kind, tuple(lines), tuple(own)))
    return found


def _who_use(ready: Ready, kind: Kind) -> set[int]:
    """Persons who march; of an instrument's kind, who march that instrument."""
    wanted = {i.pk for i in kind.instruments.all()} if kind.use == Use.INSTRUMENT else set()
    return {
        ready.members[pk].person_id
        for pk, seats in ready.marching.items()
        if pk in ready.members
        if not wanted or any(spot.part.instrument_id in wanted for _, spot in seats)
    }


def _own(ready: Ready, kind: Kind) -> list[Member]:
    """Members who march an instrument of the kind on their own."""
    wanted = {i.pk for i in kind.instruments.all()}
    found = [ready.members[pk] for pk in ready.marching if ready.plays(pk, wanted, own=True)]
    return sorted(found, key=lambda m: (m.person.sort_key, m.pk))


def load(*, actor: User, event: Event, items: Collection[Item]) -> int:
    """They are on the truck; what is there already stays."""
    with recorded(actor, "load"):
        there = set(Loaded.objects.filter(event=event).values_list("item", flat=True))
        new = [item for item in items if item.pk not in there]
        for item in new:
            Loaded.objects.create(event=event, item=item, out_at=timezone.now(), out_by=actor)
    return len(new)


def unload(*, actor: User, event: Event, items: Collection[Item]) -> int:
    """They are off the truck again."""
    with recorded(actor, "unload"):
        rows = Loaded.objects.filter(event=event, item__in=list(items), back_at__isnull=True)
        count = 0
        for row in rows:
            row.back_at = timezone.now()
            row.save()
            count += 1
    return count
