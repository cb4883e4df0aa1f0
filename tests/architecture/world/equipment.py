"""A store with a row of everything that its addresses can name."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from drill.outfits.models import Excused, Worn
from roster.equipment.models import Charge, Inspection, Item, Kind, Measurement, Run, Ticket
from tests.factories import Band
from tests.factories.store import Store, make_store_rows


def make_equipment(band: Band, actor: User) -> None:
    """The rows of the store, what the event asks for, and who goes without."""
    member, other = band.members["Cai Ørnberg"], band.members["Hal Brook"]
    make_store_rows(band.season, actor, member, other)
    Store(actor).measured(band.members["Kit Moss"], chest=40, sleeve=33.5)
    for name in ("Jacket", "Hat"):
        kind = Kind.objects.get(name=name)
        Worn.objects.create(event=band.event, kind=kind)
        for one in band.members.values():
            if kind.name == "Jacket" and one == band.members["Kit Moss"]:
                continue  # lacks one, and a spare would do
            Excused.objects.create(event=band.event, member=one, kind=kind)
    Worn.objects.create(show_id=band.halftime.show_id, kind=kind)


def equipment_addresses(band: Band) -> dict[str, tuple[Any, ...]]:
    """The arguments of every address about the store and the readiness of the event."""
    who = band.members["Cai Ørnberg"]
    member, event = who.pk, band.event.pk
    jacket = Item.objects.get(issues__member=who, kind__name="Jacket")
    item, kind = jacket.pk, jacket.kind_id
    ticket = Ticket.objects.get(item__issues__member=who, run=None).pk
    run = Run.objects.earliest("pk").pk
    measurement = Measurement.objects.filter(person=who.person_id).earliest("pk").pk
    by_row: tuple[tuple[str, tuple[Any, ...]], ...] = (
        (
            "equipment-item equipment-item-edit equipment-item-move equipment-item-work "
            "api-item api-item-hand-out api-item-take-back",
            (item,),
        ),
        ("equipment-scanned", (jacket.tag,)),
        (
            "equipment-kind equipment-kind-remove equipment-item-add equipment-items-add "
            "equipment-fit equipment-fit-out",
            (kind,),
        ),
        (
            "equipment-measure equipment-fit-member equipment-line-join equipment-line-leave "
            "equipment-issue-form",
            (member,),
        ),
        ("equipment-measure-convert equipment-measure-remove", (member, measurement)),
        ("equipment-ticket", (ticket,)),
        ("equipment-run equipment-run-close", (run,)),
        ("equipment-inspection-remove", (Inspection.objects.get(season=band.season).pk,)),
        ("equipment-charge-settle", (Charge.objects.get(member=who).pk,)),
        ("uniform readiness readiness-excuse truck bring-print load-print", (event,)),
        ("show-uniform", (band.halftime.show_id,)),
    )
    return {name: values for names, values in by_row for name in names.split()}
