"""A small store: jackets by chest and sleeve, hats by named sizes, sousaphones with bells."""

from __future__ import annotations

import datetime
import itertools
from dataclasses import dataclass, field

from django.utils import timezone

from bandops.lib.accounts.models import User
from roster.equipment.enums import ItemState, Use
from roster.equipment.models import (
    Band,
    Charge,
    Figure,
    InLine,
    Inspection,
    Issue,
    Item,
    ItemFigure,
    Kind,
    Measurement,
)
from roster.equipment.services.issuing import hand_out
from roster.equipment.services.work import open_ticket, send_out
from roster.people.models import Instrument, Member, Season

IN = 16
"""ticks of an inch"""
DAY = datetime.date(2026, 8, 12)


@dataclass
class Store:
    """The rows by short names."""

    actor: User
    kinds: dict[str, Kind] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)

    def item(self, kind: str, tag: str, /, **sizes: int | str) -> Item:
        """One more item in store; sizes in inches, or a named size."""
        item = Item.objects.create(kind=self.kinds[kind], tag=tag)
        for measure, value in sizes.items():
            figure = Figure.objects.get(kind=item.kind, measure=measure)
            if isinstance(value, str):
                band = Band.objects.get(figure=figure, name=value)
                ItemFigure.objects.create(item=item, figure=figure, band=band)
            else:
                ItemFigure.objects.create(item=item, figure=figure, ticks=value * IN)
        self.items[tag] = item
        return item

    def measured(self, member: Member, **inches: float) -> None:
        """What was measured of a member."""
        for measure, value in inches.items():
            Measurement.objects.create(
                person=member.person,
                measure=measure,
                ticks=round(value * IN),
                unit="in",
                taken_on=DAY,
                taken_by=self.actor,
            )

    def give(self, tag: str, member: Member) -> Issue:
        """The member has the item."""
        item = self.items[tag]
        return hand_out(actor=self.actor, item=item, member=member, condition=item.condition)


def make_store(actor: User, *brass: Instrument) -> Store:
    """Kinds and nothing else; ``brass`` are the instruments whose players need a sousaphone. The
    store is the band's, whatever the season: what is there already is used."""
    if not Kind.objects.exists():
        _make_kinds()
    store = Store(actor, {k.name: k for k in Kind.objects.all()})
    store.kinds["Sousaphone"].instruments.add(*brass)
    return store


def _make_kinds() -> None:
    order = itertools.count()
    jacket = Kind.objects.create(name="Jacket", order=next(order), cents=32_000)
    Figure.objects.create(
        kind=jacket,
        measure="chest",
        ease_from=IN,
        ease_to=3 * IN,
        step=2 * IN,
        let_out=IN,
        take_in=IN,
        alter_cents=2_500,
    )
    Figure.objects.create(kind=jacket, measure="sleeve", order=1, ease_from=0, ease_to=IN)
    hat = Kind.objects.create(name="Hat", order=next(order))
    head = Figure.objects.create(kind=hat, measure="head")
    for name, low, high in (("S", 20, 22), ("M", 22, 23), ("L", 23, 25)):
        Band.objects.create(figure=head, name=name, low=low * IN, high=high * IN)
    Kind.objects.create(name="Sousaphone", use=Use.INSTRUMENT, order=next(order), on_truck=True)
    Kind.objects.create(name="Podium", use=Use.ACCESSORY, order=next(order), on_truck=True)


def make_store_rows(season: Season, actor: User, member: Member, other: Member) -> Store:
    """A row of everything that an address can name: items in store and out, one in repair, one
    at the cleaner, a measurement, a charge, somebody in line, an inspection."""
    store = make_store(actor, *Instrument.objects.filter(season=season, name="Sousaphone"))
    n = Item.objects.count()
    worn, away, hat = f"J-{n + 1}", f"J-{n + 3}", f"H-{n + 1}"
    store.item("Jacket", worn, chest=40, sleeve=34)
    store.item("Jacket", f"J-{n + 2}", chest=42, sleeve=34)
    store.item("Jacket", away, chest=44, sleeve=35)
    store.item("Hat", hat, head="M")
    store.item("Podium", f"P-{n + 1}")
    store.measured(member, chest=38, sleeve=33.5, head=22)
    store.measured(other, chest=52, sleeve=38)
    store.give(worn, member)
    store.give(hat, member)
    open_ticket(actor=actor, item=store.items[hat], work="repair", what="Plume holder")
    send_out(actor=actor, work="cleaning", place="Corner laundry", items=[store.items[away]])
    Charge.objects.create(member=member, cents=600, what="Lost gloves")
    InLine.objects.create(member=other, came_at=timezone.now())
    Inspection.objects.create(season=season, date=season.starts)
    return store


def states(store: Store) -> dict[str, str]:
    """Tag -> state."""
    return dict(Item.objects.values_list("tag", "state"))


def accounted(item: Item) -> bool:
    """Whether the state of an item and its open issue say the same."""
    out = Issue.objects.filter(item=item, returned_at__isnull=True).count()
    if item.state == ItemState.ISSUED:
        return out == 1
    if item.state in (ItemState.IN_STORE, ItemState.RETIRED):
        return out == 0
    return out <= 1
