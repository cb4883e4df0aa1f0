"""Kinds with their figures, and items with their sizes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import plain
from roster.equipment.core.sizes import Band as CoreBand
from roster.equipment.core.sizes import faults_of
from roster.equipment.models import Band, Figure, Item, ItemFigure, Kind
from roster.equipment.models.items import tag_key
from roster.people.models import Instrument


@dataclass(frozen=True)
class FigureWanted:
    """A figure of a kind as somebody wants it, with its named sizes."""

    figure: Figure
    bands: Sequence[CoreBand] = ()


def save_kind(
    *,
    actor: User,
    kind: Kind,
    figures: Sequence[FigureWanted] | None = None,
    instruments: Sequence[Instrument] | None = None,
) -> Kind:
    """Add a kind or change it; figures that items have sizes in stay."""
    with recorded(actor, "save kind"):
        twin = Kind.objects.filter(name_key=plain(kind.name)[:60]).exclude(pk=kind.pk)
        if twin.exists():
            raise Refused(f"There is already a kind called “{twin.get()}”.")
        kind.full_clean(exclude=["name_key"])
        kind.save()
        if instruments is not None:
            kind.instruments.set(instruments)
        if figures is not None:
            _save_figures(kind, figures)
    return kind


def _save_figures(kind: Kind, wanted: Sequence[FigureWanted]) -> None:
    names = [w.figure.measure for w in wanted]
    if len(names) != len(set(names)):
        raise Refused("A figure comes twice.")
    for gone in kind.figures.exclude(measure__in=names):
        if gone.sizes.exists():
            raise Refused(f"Items have a size in {gone.get_measure_display()}: it stays.")
        gone.delete()
    there = {f.measure: f for f in kind.figures.all()}
    for order, want in enumerate(wanted):
        figure, old = want.figure, there.get(want.figure.measure)
        if old is not None:
            if old.unit != figure.unit and old.sizes.exists():
                name = old.get_measure_display()
                raise Refused(f"Items have their {name} in {old.unit}: the unit stays.")
            figure.pk = old.pk
        figure.kind, figure.order = kind, order
        figure.full_clean()
        figure.save()
        _save_bands(figure, want.bands)


def _save_bands(figure: Figure, bands: Sequence[CoreBand]) -> None:
    faults = faults_of(bands)
    names = [b.name for b in bands]
    if len(names) != len(set(names)):
        faults.append("A name of a size comes twice.")
    if faults:
        raise Refused("The named sizes do not fit together.", tuple(faults))
    for gone in figure.bands.exclude(name__in=names):
        if gone.sizes.exists():
            raise Refused(f"There are items of size {gone.name}: it stays.")
        gone.delete()
    for band in bands:
        row = figure.bands.filter(name=band.name).first() or Band(figure=figure, name=band.name)
        row.low, row.high = band.low, band.high
        row.full_clean()
        row.save()


def remove_kind(*, actor: User, kind: Kind) -> None:
    """Remove a kind that has no items."""
    with recorded(actor, "remove kind"):
        if kind.items.exists():
            raise Refused(f"There are items of “{kind}”: it stays.")
        kind.delete()


SizeValue = int | Band
"""ticks, or a named size"""


def save_item(
    *, actor: User, item: Item, sizes: Mapping[Figure, SizeValue | None] | None = None
) -> Item:
    """Add an item or change it; its state changes by moves alone."""
    with recorded(actor, "save item"):
        _check_tag(item)
        _check_link(item)
        item.full_clean(exclude=["tag_key"])
        item.save()
        if sizes is not None:
            write_sizes(item, sizes)
    return item


def add_items(*, actor: User, items: Sequence[tuple[Item, Mapping[Figure, SizeValue]]]) -> int:
    """Add several at once."""
    with recorded(actor, "add items"):
        for item, sizes in items:
            _check_tag(item)
            item.full_clean(exclude=["tag_key"])
            item.save()
            write_sizes(item, sizes)
    return len(items)


def _check_tag(item: Item) -> None:
    key = tag_key(item.tag)
    if not key:
        raise ValidationError({"tag": "Give it a tag of letters or figures."})
    twin = Item.objects.filter(tag_key=key[:30]).exclude(pk=item.pk).first()
    if twin is not None:
        raise ValidationError({"tag": f"“{twin.tag}” is the tag of another item ({twin.kind})."})


def _check_link(item: Item) -> None:
    whole = item.part_of
    if whole is None:
        return
    if whole.part_of_id is not None:
        raise ValidationError({"part_of": f"{whole} is itself part of {whole.part_of}."})
    if item.pk and item.linked.exists():
        raise ValidationError({"part_of": f"{item} has parts of its own."})


def write_sizes(item: Item, sizes: Mapping[Figure, SizeValue | None]) -> None:
    """The item's sizes, figure by figure; None takes one away."""
    for figure, value in sizes.items():
        row = ItemFigure.objects.filter(item=item, figure=figure).first()
        if value is None:
            if row is not None:
                row.delete()
            continue
        row = row or ItemFigure(item=item, figure=figure)
        row.band = value if isinstance(value, Band) else None
        row.ticks = None if isinstance(value, Band) else value
        row.full_clean()
        row.save()
