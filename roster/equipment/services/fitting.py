"""From rows to a fitting: the one place where members and items become its problem."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

from bandops.lib.keys import key
from roster.equipment import queries
from roster.equipment.core import fitting as core
from roster.equipment.core.sizes import Band as CoreBand
from roster.equipment.core.sizes import band_of
from roster.equipment.enums import ItemState, Use
from roster.equipment.models import Figure, Issue, Item, Kind, Measurement, Wearer
from roster.people import queries as people_queries
from roster.people.models import Member, Season

WORN = (Use.UNIFORM, Use.GUARD)


@dataclass(frozen=True)
class People:
    """What a fitting knows of members: measurements, hands, what they had."""

    members: Sequence[Member]

    @cached_property
    def persons(self) -> list[int]:
        return [m.person_id for m in self.members]

    @cached_property
    def measured(self) -> dict[tuple[int, str], Measurement]:
        return queries.newest_measurements(self.persons)

    @cached_property
    def left_handed(self) -> set[int]:
        rows = Wearer.objects.filter(person__in=self.persons, left_handed=True)
        return set(rows.values_list("person", flat=True))

    @cached_property
    def issues(self) -> dict[int, list[tuple[int, int, bool]]]:
        """Person -> (kind, item, whether it is theirs now) of all they ever had."""
        found: dict[int, list[tuple[int, int, bool]]] = defaultdict(list)
        rows = Issue.objects.filter(member__person__in=self.persons)
        for person, kind, item, back in rows.values_list(
            "member__person", "item__kind", "item", "returned_at"
        ):
            found[person].append((kind, item, back is None))
        return found

    def had(self, person: int, kind: int) -> frozenset[str]:
        """Pieces of a kind that they wore before."""
        return frozenset(key(i) for k, i, now in self.issues[person] if k == kind and not now)

    def has(self, person: int, kind: int) -> bool:
        """Whether a piece of the kind is theirs."""
        return any(now for k, _, now in self.issues[person] if k == kind)


@dataclass(frozen=True)
class Built:
    """A kind's problem with the rows it was made from."""

    kind: Kind
    problem: core.FittingProblem
    members: dict[str, Member]
    items: dict[str, Item]
    figures: dict[str, Figure]


def needing(season: Season, kind: Kind, members: Sequence[Member] | None = None) -> list[Member]:
    """Active members whose main instrument needs the kind; where it names none, all of them for a
    piece to wear, nobody for anything else."""
    rows = list(people_queries.active_members(season)) if members is None else list(members)
    wanted = {i.pk for i in kind.instruments.all()}
    if not wanted:
        return rows if kind.use in WORN else []
    return [m for m in rows if main_instrument(m) in wanted]


def main_instrument(member: Member) -> int | None:
    """The instrument they mostly play. Expects the rows of ``people.queries``."""
    skills = member.skills  # type: ignore[attr-defined]
    return next((s.part.instrument_id for s in skills if s.main), None)


def build(
    kind: Kind,
    people: People,
    members: Sequence[Member] | None = None,
    *,
    items: Collection[Item] | None = None,
    every: bool = False,
) -> Built:
    """The problem of members without a piece (``every``: with one, too) and the pieces in store,
    or of ``items``."""
    figures = {key(f.pk): f for f in kind.figures.all()}
    chosen = people.members if members is None else members
    wanted = [m for m in chosen if every or not people.has(m.person_id, kind.pk)]
    there = list(in_store(kind)) if items is None else list(items)
    bands = {k: queries.core_bands(f) for k, f in figures.items()}
    problem = core.FittingProblem(
        tuple(_figure(k, f, bool(bands[k])) for k, f in figures.items()),
        tuple(_wearer(kind, m, people, figures, bands) for m in wanted),
        tuple(_piece(i, bands) for i in there),
        kind.spares,
        kind.handed,
    )
    by_member, by_item = {key(m.pk): m for m in wanted}, {key(i.pk): i for i in there}
    return Built(kind, problem, by_member, by_item, figures)


def fitting_as_they_are(built: Built, member: Member) -> list[tuple[Item, core.Fit]]:
    """Pieces that need no tailor, the closest first; none for who is not of the problem."""
    problem = built.problem.unaltered
    wearer = problem.of_wearer.get(key(member.pk))
    if wearer is None:
        return []
    found = [
        (fit.off, piece.wear, piece.key, fit)
        for piece in problem.pieces
        if (fit := core.fit_of(problem, wearer, piece)) is not None
    ]
    found.sort(key=lambda row: row[:3])
    return [(built.items[k], fit) for _, _, k, fit in found]


def in_store(kind: Kind) -> list[Item]:
    """Whole items of a kind that are there to be handed out."""
    rows = queries.items().filter(kind=kind, state=ItemState.IN_STORE, part_of__isnull=True)
    return list(rows)


def _figure(name: str, figure: Figure, banded: bool) -> core.Figure:
    step = 1 if banded else figure.step
    return core.Figure(name, figure.let_out, figure.take_in, figure.alter_cents, step)


def window_of(
    figure: Figure, bands: Sequence[CoreBand], measured: Measurement | None
) -> core.Window | None:
    """What a measurement asks of a piece; None without one, in another unit, or between the
    named sizes, where it has to be tried on."""
    if measured is None or measured.unit != figure.unit:
        return None
    if bands:
        band = band_of(bands, measured.ticks)
        if band is None:
            return None
        at = list(bands).index(band)
        return core.Window(at + figure.ease_from, at + figure.ease_to, at)
    low, high = measured.ticks + figure.ease_from, measured.ticks + figure.ease_to
    return core.Window(low, high, (low + high) // 2)


def _wearer(
    kind: Kind,
    member: Member,
    people: People,
    figures: dict[str, Figure],
    bands: dict[str, list[CoreBand]],
) -> core.Wearer:
    person = member.person_id
    windows = {}
    for name, figure in figures.items():
        measured = people.measured.get((person, figure.measure))
        window = window_of(figure, bands[name], measured)
        if window is not None:
            windows[name] = window
    had = people.had(person, kind.pk)
    return core.Wearer(key(member.pk), windows, had, person in people.left_handed)


def _piece(item: Item, bands: dict[str, list[CoreBand]]) -> core.Piece:
    sizes: dict[str, int] = {}
    for size in item.sizes.all():
        name = key(size.figure_id)
        if size.band is not None:
            sizes[name] = next(n for n, b in enumerate(bands[name]) if b.name == size.band.name)
        else:
            sizes[name] = size.ticks or 0
    first = next(iter(sizes.items()), ("", 0))
    band = f"{first[0]}:{first[1]}"
    return core.Piece(key(item.pk), sizes, band, item.condition, item.left_handed)
