"""The demo's store: kinds with their sizes, everybody measured and dressed but a few, instruments,
and what the events ask for."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.names import plain
from drill.events import queries as event_queries
from drill.outfits.services.setting import set_worn
from drill.shows.models import Show
from roster.equipment import queries
from roster.equipment.core.sizes import Band, band_of
from roster.equipment.enums import Condition, ItemState, Measure, UnitChoice, Use, Work
from roster.equipment.models import (
    Figure,
    Inspection,
    Issue,
    Item,
    ItemFigure,
    Kind,
    Measurement,
    Move,
)
from roster.equipment.models.items import tag_key
from roster.equipment.services.fitting import main_instrument, needing
from roster.equipment.services.keeping import FigureWanted, save_kind
from roster.equipment.services.work import open_ticket, save_inspection
from roster.people import queries as people_queries
from roster.people.models import Instrument, Member, Season

SEED = 20_260_820
IN = 16
"""ticks of an inch"""
FLAGS = "Flags"
COSTUME_SHOW = "Tidewheel"


@dataclass(frozen=True)
class Sized:
    """A figure of a demo kind, in whole inches unless it has bands."""

    measure: Measure
    ease: tuple[float, float] = (0, 0)
    let_out: float = 0
    take_in: float = 0
    cents: int = 0
    step: float = 1
    bands: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True)
class Stocked:
    """A demo kind: ``letter`` begins its tags, ``spare`` pieces are nobody's."""

    name: str
    letter: str
    figures: tuple[Sized, ...] = ()
    use: Use = Use.UNIFORM
    spare: int = 0
    keep: int = 0
    cents: int = 0
    on_truck: bool = False
    place: str = ""
    by: tuple[str, ...] = ()


HEADS = (("S", 20.5, 21.75), ("M", 21.75, 22.75), ("L", 22.75, 23.75), ("XL", 23.75, 25.5))
HANDS = (("S", 6, 7.25), ("M", 7.25, 8.25), ("L", 8.25, 9.25), ("XL", 9.25, 11))
CHESTS = (("S", 28, 34), ("M", 34, 38), ("L", 38, 43), ("XL", 43, 56))
HEIGHTS = (("short", 54, 64), ("medium", 64, 70), ("tall", 70, 82))
JACKET = (
    Sized(Measure.CHEST, (1, 3), let_out=1, take_in=2, cents=2_500, step=2),
    Sized(Measure.SLEEVE, (0, 1), let_out=1.5, take_in=1.5, cents=1_200),
)
TROUSERS = (
    Sized(Measure.WAIST, (0, 2), let_out=1, take_in=2, cents=1_800, step=2),
    Sized(Measure.INSEAM, (0, 1), let_out=2, take_in=3, cents=900),
)
HAT = (Sized(Measure.HEAD, bands=HEADS),)
WEARABLES = (
    Stocked("Jacket", "J", JACKET, spare=26, keep=1, cents=32_000, place="Rack 1"),
    Stocked("Trousers", "T", TROUSERS, spare=26, keep=1, cents=14_000, place="Rack 2"),
    Stocked("Hat", "H", HAT, spare=18, keep=2, cents=9_000, place="Shelf 4"),
    Stocked("Gloves", "G", (Sized(Measure.HAND, bands=HANDS),), spare=40, keep=4, cents=600),
    Stocked("Rain cape", "R", (Sized(Measure.HEIGHT, bands=HEIGHTS),), spare=12, cents=4_500),
    Stocked(
        f"{COSTUME_SHOW} costume",
        "C",
        (Sized(Measure.CHEST, bands=CHESTS),),
        use=Use.GUARD,
        spare=4,
        cents=8_000,
        by=(FLAGS,),
    ),
)
INSTRUMENTS = (
    ("Sousaphone", "SO", 15, 480_000),
    ("Mellophone", "ME", 17, 160_000),
    ("Baritone", "BA", 16, 210_000),
    ("Snare drum", "SN", 13, 85_000),
    ("Tenor drums", "TD", 7, 130_000),
)
OTHERS = (
    Stocked("Snare harness", "SH", use=Use.ACCESSORY, spare=14, on_truck=True, place="Drum room"),
    Stocked("Podium", "P", use=Use.ACCESSORY, spare=2, on_truck=True, place="Dock"),
    Stocked("Locker", "L", use=Use.LOCKER, spare=60, place="Hall"),
)
BODY = {
    Measure.HEAD: (22.4, 0.8),
    Measure.CHEST: (37.5, 3.2),
    Measure.WAIST: (32.0, 3.4),
    Measure.SLEEVE: (33.0, 1.4),
    Measure.INSEAM: (30.5, 1.8),
    Measure.HEIGHT: (67.5, 3.4),
    Measure.HAND: (8.1, 0.7),
}
"""inches: middle and spread, invented"""
FAR_OUT = {Measure.CHEST: 53.0, Measure.SLEEVE: 39.0, Measure.WAIST: 48.0, Measure.INSEAM: 37.0}
UNDRESSED, SPARE_WOULD_DO = 2, 4


@dataclass
class Store:
    """What is being made."""

    actor: User
    season: Season
    rng: random.Random
    kinds: dict[str, Kind] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    sizes: list[tuple[int, Figure, int]] = field(default_factory=list)
    owners: dict[int, Member] = field(default_factory=dict)
    """place in ``items`` -> who has it"""
    parts: list[tuple[int, int]] = field(default_factory=list)


def stock(actor: User, season: Season) -> int:
    """Fill the store; how many items."""
    store = Store(actor, season, random.Random(SEED))  # noqa: S311 - a repeatable demo, not a secret
    members = list(people_queries.active_members(season))
    without, spare_would_do = _alternates(members)
    body = _measure(store, members, without)
    _kinds(store)
    for stocked in WEARABLES:
        _clothe(store, stocked, members, body, {*without, *spare_would_do})
    _instruments(store, members)
    for stocked in OTHERS:
        for _ in range(stocked.spare):
            _item(store, stocked.name, stocked.letter, {}, stocked.place)
    _save(store)
    _away(store, spare_would_do)
    _ask(actor, season)
    return len(store.items)


def _alternates(members: Sequence[Member]) -> tuple[list[int], list[int]]:
    """Alternates whom nothing fits, and some for whom a spare piece would do: the last of their
    pools."""
    waiting = [m for m in members if getattr(m, "alternate_place", None) is not None]
    waiting.sort(key=lambda m: (-(m.alternate_place.standing or 0), m.pk))
    last = [m.pk for m in waiting]
    return last[:UNDRESSED], last[UNDRESSED : UNDRESSED + SPARE_WOULD_DO]


def _measure(
    store: Store, members: Sequence[Member], far_out: Iterable[int]
) -> dict[int, dict[Measure, int]]:
    """Everybody's figures in ticks; those ``far_out`` are larger than any piece."""
    beyond = set(far_out)
    body: dict[int, dict[Measure, int]] = {}
    for member in members:
        found = {}
        for measure, (middle, spread) in BODY.items():
            inches = store.rng.gauss(middle, spread)
            if member.pk in beyond:
                inches = FAR_OUT.get(measure, inches)
            low, high = middle - 2.4 * spread, middle + 2.4 * spread
            inside = inches if member.pk in beyond else min(max(inches, low), high)
            found[measure] = round(inside * 4) * 4
        body[member.pk] = found
    taken = store.season.starts - datetime.timedelta(days=9)
    with recorded(store.actor, "measure"):
        Measurement.objects.bulk_create(
            [
                Measurement(
                    person=m.person,
                    measure=measure,
                    ticks=ticks,
                    unit=UnitChoice.INCH,
                    taken_on=taken,
                    taken_by=store.actor,
                )
                for m in members
                for measure, ticks in body[m.pk].items()
            ],
            batch_size=300,
        )
    return body


def _kinds(store: Store) -> None:
    instruments = {i.name: i for i in Instrument.objects.filter(season=store.season)}
    but_flags = [i for name, i in instruments.items() if name != FLAGS]
    order = 0
    for stocked in (*WEARABLES, *OTHERS):
        by = [instruments[name] for name in stocked.by]
        if stocked.name in ("Jacket", "Trousers", "Hat"):
            by = but_flags
        if stocked.name == "Snare harness":
            by = [instruments["Snare drum"]]
        _kind(store, stocked, order, by)
        order += 1
    for name, letter, _, cents in INSTRUMENTS:
        _kind(
            store,
            Stocked(name, letter, use=Use.INSTRUMENT, cents=cents, on_truck=True),
            order,
            [instruments[name]],
        )
        order += 1
    _kind(
        store,
        Stocked("Sousaphone bell", "SB", use=Use.ACCESSORY),
        order,
        [instruments["Sousaphone"]],
    )
    store.kinds = {k.name: k for k in queries.kinds()}


def _kind(store: Store, stocked: Stocked, order: int, by: Sequence[Instrument]) -> None:
    kind = Kind(
        name=stocked.name,
        use=stocked.use,
        order=order,
        spares=stocked.keep,
        on_truck=stocked.on_truck,
        cents=stocked.cents,
    )
    figures = [_figure(sized) for sized in stocked.figures]
    save_kind(actor=store.actor, kind=kind, figures=figures, instruments=by)


def _figure(sized: Sized) -> FigureWanted:
    bands = tuple(Band(n, round(a * IN), round(b * IN)) for n, a, b in sized.bands)
    ease = (0, 0) if bands else (round(sized.ease[0] * IN), round(sized.ease[1] * IN))
    figure = Figure(
        measure=sized.measure,
        unit=UnitChoice.INCH,
        ease_from=ease[0],
        ease_to=ease[1],
        let_out=round(sized.let_out * IN),
        take_in=round(sized.take_in * IN),
        alter_cents=sized.cents,
        step=round(sized.step * IN),
    )
    return FigureWanted(figure, bands)


def _clothe(
    store: Store,
    stocked: Stocked,
    members: Sequence[Member],
    body: Mapping[int, Mapping[Measure, int]],
    without: set[int],
) -> None:
    """A piece for everybody who needs one but those ``without``, and spares of common sizes."""
    kind = store.kinds[stocked.name]
    wearers = needing(store.season, kind, members)
    for member in wearers:
        sizes = _sizes(kind, body[member.pk])
        if member.pk in without and stocked.name in ("Jacket", "Trousers"):
            continue
        n = _item(store, stocked.name, stocked.letter, sizes, "")
        store.owners[n] = member
    ordinary = [m for m in wearers if m.pk not in without] or wearers
    for n in range(stocked.spare):
        member = ordinary[(n * 7) % len(ordinary)]
        _item(store, stocked.name, stocked.letter, _sizes(kind, body[member.pk]), stocked.place)


def _sizes(kind: Kind, body: Mapping[Measure, int]) -> dict[Figure, int]:
    """The size of the kind that fits a body: a whole step within the ease, or its named size."""
    found = {}
    for figure in kind.figures.all():
        ticks = body[Measure(figure.measure)]
        bands = queries.core_bands(figure)
        if bands:
            band = band_of(bands, ticks) or (bands[0] if ticks < bands[0].low else bands[-1])
            found[figure] = bands.index(band)
        else:
            low = ticks + figure.ease_from
            found[figure] = -(-low // figure.step) * figure.step
    return found


def _item(store: Store, kind: str, letter: str, sizes: Mapping[Figure, int], place: str) -> int:
    count = sum(item.kind_id == store.kinds[kind].pk for item in store.items) + 1
    tag = f"{letter}-{count:03d}"
    item = Item(
        kind=store.kinds[kind],
        tag=tag,
        tag_key=tag_key(tag),
        condition=store.rng.choice((Condition.NEW, Condition.GOOD, Condition.GOOD, Condition.WORN)),
        place=place,
    )
    store.items.append(item)
    n = len(store.items) - 1
    store.sizes += [(n, figure, value) for figure, value in sizes.items()]
    return n


def _instruments(store: Store, members: Sequence[Member]) -> None:
    """The school's instruments with those who play them, sousaphones with their bells."""
    for name, letter, count, _ in INSTRUMENTS:
        wanted = {i.pk for i in store.kinds[name].instruments.all()}
        players = [m for m in members if main_instrument(m) in wanted and not _owns(m)]
        for n in range(count):
            at = _item(store, name, letter, {}, "Instrument room")
            pairs = [at]
            if name == "Sousaphone":
                bell = _item(store, "Sousaphone bell", "SB", {}, "Instrument room")
                store.parts.append((bell, at))
                pairs.append(bell)
            if n < min(len(players), count - 1):
                for one in pairs:
                    store.owners[one] = players[n]


def _owns(member: Member) -> bool:
    skills = member.skills  # type: ignore[attr-defined]
    return any(s.main and s.own_instrument for s in skills)


def _save(store: Store) -> None:
    now = timezone.now()
    for n in store.owners:
        store.items[n].state = ItemState.ISSUED
    with recorded(store.actor, "add items"):
        Item.objects.bulk_create(store.items, batch_size=300)
        by_tag = {i.tag_key: i for i in Item.objects.all()}
        saved = [by_tag[item.tag_key] for item in store.items]
        for part, whole in store.parts:
            saved[part].part_of = saved[whole]
            saved[part].save()
        bands = {f.pk: list(f.bands.all()) for k in store.kinds.values() for f in k.figures.all()}
        ItemFigure.objects.bulk_create(
            [
                ItemFigure(item=saved[n], figure=f, band=bands[f.pk][value])
                if bands[f.pk]
                else ItemFigure(item=saved[n], figure=f, ticks=value)
                for n, f, value in store.sizes
            ],
            batch_size=300,
        )
        store.items = saved
    out = [(saved[n], member) for n, member in store.owners.items()]
    with recorded(store.actor, "issue"):
        Issue.objects.bulk_create(
            [
                Issue(
                    item=item,
                    member=member,
                    issued_at=now,
                    issued_by=store.actor,
                    condition_out=item.condition,
                )
                for item, member in out
            ],
            batch_size=300,
        )
        Move.objects.bulk_create(
            [
                Move(
                    item=item,
                    at=now,
                    by=store.actor,
                    before=ItemState.IN_STORE,
                    after=ItemState.ISSUED,
                    member=member,
                )
                for item, member in out
            ],
            batch_size=300,
        )


def _away(store: Store, spare_would_do: Sequence[int]) -> None:
    """A sousaphone is in repair, an alternate's trousers are at the cleaner, and an inspection
    comes."""
    idle = [i for i in store.items if i.kind.name == "Sousaphone" and i.state == ItemState.IN_STORE]
    open_ticket(
        actor=store.actor, item=idle[0], work=Work.REPAIR, what="Third valve sticks, brace is loose"
    )
    day = store.season.today() + datetime.timedelta(days=21)
    save_inspection(
        actor=store.actor, inspection=Inspection(season=store.season, date=day, name="Inspection")
    )
    waiting = [n for n, m in store.owners.items() if _waits(m) and m.pk not in spare_would_do]
    trousers = [store.items[n] for n in waiting if store.items[n].kind.name == "Trousers"]
    if trousers:
        open_ticket(
            actor=store.actor, item=trousers[0], work=Work.CLEANING, what="Mud from Tuesday"
        )


def _waits(member: Member) -> bool:
    return getattr(member, "alternate_place", None) is not None


def _ask(actor: User, season: Season) -> None:
    """Each event asks for what its words name; the flags' costume belongs to its show."""
    kinds = {k.name_key: k for k in queries.kinds()}
    for event in event_queries.events(season):
        named = [kinds[plain(word)] for word in event.uniform.split(";") if plain(word) in kinds]
        if named:
            worn = {kind: list(kind.instruments.all()) for kind in named}
            set_worn(actor=actor, of=event, kinds=worn)
    costume = kinds[plain(f"{COSTUME_SHOW} costume")]
    show = Show.objects.get(season=season, name=COSTUME_SHOW)
    set_worn(actor=actor, of=show, kinds={costume: list(costume.instruments.all())})
