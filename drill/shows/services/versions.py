"""Versions of a show: what each holds, and how a new one begins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name
from drill.shows.models import Dot, DrillSet, Path, Position, Show, ShowVersion
from drill.shows.queries import versions_in_use
from drill.shows.ties import published_versions

ASIDE = 20_000
"""where sets wait while others take their numbers"""
BATCH = 500


@dataclass(frozen=True)
class SetLine:
    """A set as a sheet gives it."""

    label: str
    counts: int
    is_subset: bool = False
    tempo: int | None = None


@dataclass(frozen=True)
class Stand:
    """Where a dot stands in a set (units)."""

    set: str
    dot: str
    x: int
    y: int


def refuse_used(version: ShowVersion) -> None:
    """Refused where a published lineup was made for the version: it keeps its sets and positions.
    Words of the moves may still be written: they say how, not where."""
    if version.pk in published_versions(version.show.season_id):
        raise Refused(
            f"A published lineup was made for {version}: start a new version to change it."
        )


def write_version(
    show: Show, label: str, lines: Sequence[SetLine], stands: Iterable[Stand]
) -> ShowVersion:
    """Let a version hold these sets and positions, inside the caller's transaction. What stays
    the same keeps its row, so that paths described for it stay."""
    version = ShowVersion.objects.filter(show=show, label=label).first()
    if version is None:
        version = ShowVersion.objects.create(show=show, label=label, order=_next_order(show))
    sets = _write_sets(version, lines)
    dots = {p.label: p for p in Dot.objects.filter(show=show)}
    wanted = {(s.set, s.dot): s for s in stands}
    for name in dict.fromkeys(name for _, name in wanted):
        if name not in dots:
            dots[name] = Dot.objects.create(show=show, label=name)
    old = {
        (p.set.label, p.dot.label): p
        for p in Position.objects.filter(set__version=version).select_related("set", "dot")
    }
    gone = [p.pk for key, p in old.items() if key not in wanted]
    Position.objects.filter(pk__in=gone).delete()
    moved = []
    for key, position in old.items():
        stand = wanted.get(key)
        if stand is not None and (position.x, position.y) != (stand.x, stand.y):
            position.x, position.y = stand.x, stand.y
            moved.append(position)
    Position.objects.bulk_update(moved, ["x", "y"], batch_size=BATCH)
    Position.objects.bulk_create(
        Position(set=sets[s.set], dot=dots[s.dot], x=s.x, y=s.y)
        for key, s in wanted.items()
        if key not in old
    )
    return version


def _write_sets(version: ShowVersion, lines: Sequence[SetLine]) -> dict[str, DrillSet]:
    version.sets.exclude(label__in=[line.label for line in lines]).delete()
    sets = {s.label: s for s in version.sets.all()}
    put_in_order(sets.values(), {line.label: n for n, line in enumerate(lines, 1)})
    for order, line in enumerate(lines, 1):
        it = sets.setdefault(line.label, DrillSet(version=version, label=line.label, order=order))
        new = (line.counts, line.is_subset, line.tempo)
        if it.pk is None or (it.counts, it.is_subset, it.tempo) != new:
            it.counts, it.is_subset, it.tempo = new
            it.save()
    return sets


def put_in_order(sets: Iterable[DrillSet], orders: Mapping[str, int]) -> None:
    """Give sets of one version their numbers by label, never two the same one on the way."""
    moved = [s for s in sets if s.order != orders[s.label]]
    for shift in (ASIDE, 0):
        for it in moved:
            it.order = orders[it.label] + shift
        DrillSet.objects.bulk_update(moved, ["order"], batch_size=BATCH)


def start_version(
    *, actor: User, show: Show, label: str, copy_of: ShowVersion | None
) -> ShowVersion:
    """A new version, as a copy of another or empty; what is in use stays so."""
    label = clean_name(label)
    with recorded(actor, "start version"):
        Show.objects.select_for_update().get(pk=show.pk)
        in_use = versions_in_use({show.pk}).get(show.pk)
        version = ShowVersion(show=show, label=label, order=_next_order(show))
        version.full_clean(exclude=["change"])
        version.save()
        if copy_of is not None:
            _copy(copy_of, version)
        if in_use is not None:
            _put_last(in_use)
    return version


def use_version(*, actor: User, version: ShowVersion) -> None:
    """New lineups are made for the version from now on; published ones keep theirs."""
    if version.is_variant:
        raise Refused(f"{version} is for one event only.")
    with recorded(actor, "use version"):
        Show.objects.select_for_update().get(pk=version.show_id)
        _put_last(version)


def _put_last(version: ShowVersion) -> None:
    """The version with the highest order is the one in use."""
    version.order = _next_order(version.show)
    version.save(update_fields=["order"])


def _copy(old: ShowVersion, new: ShowVersion) -> None:
    ids = {}
    for it in list(old.sets.all()):
        before, it.pk, it.version = it.pk, None, new
        it._state.adding = True
        it.save()
        ids[before] = it.pk
    Position.objects.bulk_create(
        (
            Position(set_id=ids[p.set_id], dot_id=p.dot_id, x=p.x, y=p.y)
            for p in Position.objects.filter(set__version=old)
        ),
        batch_size=BATCH,
    )
    Path.objects.bulk_create(
        Path(set_id=ids[p.set_id], dot_id=p.dot_id, words=p.words, curved=p.curved)
        for p in Path.objects.filter(set__version=old)
    )


def _next_order(show: Show) -> int:
    last = show.versions.order_by("-order").first()
    return last.order + 1 if last else 1
