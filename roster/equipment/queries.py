"""Reused reads of uniforms and equipment."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Count, Prefetch, Q, QuerySet

from roster.equipment.core.sizes import Band
from roster.equipment.enums import AT_HAND, AT_WORK, ItemState, Use
from roster.equipment.models import (
    Charge,
    Figure,
    InLine,
    Inspection,
    Issue,
    Item,
    ItemFigure,
    Kind,
    Measurement,
    Run,
    Ticket,
)
from roster.equipment.models.items import tag_key
from roster.people.models import Member, Season

FRESH = datetime.timedelta(days=365)
FRESH_GROWING = datetime.timedelta(days=120)
"""how long measurements are good for (common practice, no source)"""


def kinds() -> QuerySet[Kind]:
    """All kinds in order, with their figures and whose they are."""
    figures = Figure.objects.prefetch_related("bands")
    return Kind.objects.prefetch_related(Prefetch("figures", figures), "instruments")


def core_bands(figure: Figure) -> list[Band]:
    """A figure's named sizes, from small to large."""
    return [Band(b.name, b.low, b.high) for b in figure.bands.all()]


def sized_items() -> QuerySet[Item]:
    """All items with their kind and sizes."""
    return Item.objects.select_related("kind", "part_of").prefetch_related(_with_sizes("sizes"))


def _with_sizes(relation: str) -> Prefetch[str]:
    return Prefetch(relation, ItemFigure.objects.select_related("figure", "band"))


def items() -> QuerySet[Item]:
    """All items with what lists show: kind, sizes, and who has them."""
    open_issues = Issue.objects.filter(returned_at__isnull=True)
    out = Prefetch("issues", open_issues.select_related("member__person"), to_attr="out")
    return sized_items().prefetch_related(out)


def item_by_tag(text: str) -> Item | None:
    """The item that a tag names, however it is typed or scanned."""
    key = tag_key(text)
    return items().filter(tag_key=key).first() if key else None


def with_whom(item: Item) -> Issue | None:
    """The open issue of an item."""
    rows = item.issues.filter(returned_at__isnull=True)
    return rows.select_related("member__person", "issued_by").first()


def open_issues() -> QuerySet[Issue]:
    """All that is out, with items and members."""
    rows = Issue.objects.filter(returned_at__isnull=True)
    rows = rows.select_related("item__kind", "member__person", "member__season")
    return rows.prefetch_related(_with_sizes("item__sizes"))


def issues_of(member: Member) -> QuerySet[Issue]:
    """What a member has, this season's and what they kept from earlier ones."""
    return open_issues().filter(member__person=member.person_id).order_by("item__kind__order")


def outstanding() -> QuerySet[Issue]:
    """What is out, by member."""
    return open_issues().order_by("member__person__sort_key", "item__kind__order", "item__tag_key")


def open_tickets() -> QuerySet[Ticket]:
    """Work that is not done, the most urgent first."""
    rows = Ticket.objects.filter(closed_at__isnull=True).select_related("item__kind", "run")
    out = Issue.objects.filter(returned_at__isnull=True).select_related("member__person")
    return rows.prefetch_related(Prefetch("item__issues", out, to_attr="out"))


def runs() -> QuerySet[Run]:
    """What was sent out, the latest first."""
    return Run.objects.annotate(
        sent=Count("tickets"),
        away=Count("tickets", filter=Q(tickets__closed_at__isnull=True)),
        lost=Count("tickets", filter=Q(tickets__item__state=ItemState.MISSING)),
    )


def next_inspection(season: Season, day: datetime.date) -> Inspection | None:
    """The next day on which everything has to be right."""
    return Inspection.objects.filter(season=season, date__gte=day).first()


def charges(season: Season) -> QuerySet[Charge]:
    """All charges of a season's members."""
    rows = Charge.objects.filter(member__season=season)
    return rows.select_related("member__person", "item")


def waiting_in_line(season: Season) -> QuerySet[InLine]:
    """Who waits for their fitting, the first come first."""
    rows = InLine.objects.filter(member__season=season, done_at__isnull=True)
    return rows.select_related("member__person")


def newest_measurements(persons: Collection[int]) -> dict[tuple[int, str], Measurement]:
    """(person, measure) -> the newest."""
    found: dict[tuple[int, str], Measurement] = {}
    rows = Measurement.objects.filter(person__in=persons).order_by("taken_on", "id")
    for row in rows:
        found[row.person_id, row.measure] = row
    return found


def grew(rows: Iterable[Measurement]) -> bool:
    """Whether a length of the body was larger the last time than the time before."""
    by: dict[tuple[str, str], list[Measurement]] = defaultdict(list)
    for row in sorted(rows, key=lambda r: (r.taken_on, r.pk)):
        by[row.measure, row.unit].append(row)
    lengths = ("height", "inseam", "sleeve", "foot")
    return any(
        of[-1].ticks > of[-2].ticks
        for (measure, _), of in by.items()
        if measure in lengths and len(of) > 1
    )


def is_stale(taken_on: datetime.date, *, growing: bool, today: datetime.date) -> bool:
    """Whether a measurement is too old to fit by."""
    return today - taken_on > (FRESH_GROWING if growing else FRESH)


def is_usable(
    state: str, due: datetime.date | None, today: datetime.date, by: datetime.date
) -> bool:
    """Whether an item can be worn or played on a day: it is there, or surely back before."""
    if state in AT_HAND:
        return True
    return state in AT_WORK and due is not None and today <= due < by


@dataclass(frozen=True)
class Counts:
    """How many of a kind are where."""

    kind: Kind
    by_state: Mapping[str, int]

    @property
    def total(self) -> int:
        """All that are not retired."""
        return sum(n for state, n in self.by_state.items() if state != ItemState.RETIRED)

    @property
    def away(self) -> int:
        return sum(self.by_state.get(state, 0) for state in AT_WORK)

    @property
    def in_store(self) -> int:
        return self.by_state.get(ItemState.IN_STORE, 0)

    @property
    def issued(self) -> int:
        return self.by_state.get(ItemState.ISSUED, 0)

    @property
    def missing(self) -> int:
        return self.by_state.get(ItemState.MISSING, 0)


def counts() -> list[Counts]:
    """Every kind, counted."""
    rows = Item.objects.values_list("kind", "state")
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for kind, state, n in rows.order_by().annotate(n=Count("id")):
        found[kind][state] = n
    return [Counts(kind, found[kind.pk]) for kind in Kind.objects.all()]


def usable_instruments(season: Season, today: datetime.date, by: datetime.date) -> dict[int, int]:
    """Instrument id -> the school's that can be played on a day, where they are counted by items:
    an item all of whose linked parts are there too."""
    whole_items = Item.objects.filter(
        part_of__isnull=True, kind__use=Use.INSTRUMENT, kind__instruments__season=season
    ).exclude(state=ItemState.RETIRED)
    rows = list(whole_items.values_list("pk", "state", "kind__instruments"))
    if not rows:
        return {}
    due = dict(Ticket.objects.filter(closed_at__isnull=True).values_list("item", "due"))
    linked: dict[int, list[Item]] = defaultdict(list)
    for part in Item.objects.filter(part_of__isnull=False).exclude(state=ItemState.RETIRED):
        linked[part.part_of_id or 0].append(part)
    found: dict[int, int] = defaultdict(int)
    for pk, state, instrument in rows:
        found[instrument] += 0
        whole = [(pk, state), *((p.pk, p.state) for p in linked[pk])]
        found[instrument] += all(is_usable(s, due.get(i), today, by) for i, s in whole)
    return dict(found)
