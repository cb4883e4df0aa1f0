"""The drill of one event: a line closed up, a show cut, and either taken back."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import F, Max

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.closing.core import closing
from drill.events import queries as event_queries
from drill.events.enums import MARCHING
from drill.events.models import Event, EventVersion, Segment
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup, LineupRow, OpenSeat
from drill.lineup.services.lineups import open_draft
from drill.lineup.services.orders import pins_at
from drill.shows.core import move_checks as show_move_checks
from drill.shows.core.move_checks import Drill, Finding, findings
from drill.shows.core.moves import PathKind
from drill.shows.models import DrillSet, Path, Place, Position, Show, ShowVersion
from drill.shows.queries import places_of
from drill.shows.services.move_checks import drill_of, limits_of
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot

NAME_LENGTH = 60


@dataclass(frozen=True)
class Changed:
    """A version and the drill it would become, with what the checks find only then."""

    version: ShowVersion
    before: Drill
    after: Drill
    new: tuple[Finding, ...]


def version_at(event: Event, show: Show) -> ShowVersion:
    """The version in use at the event; Refused where the show has no coordinates yet."""
    version = event_queries.current_versions({show.pk}, event).get(show.pk)
    if version is None:
        raise Refused(f"{show} has no coordinates yet: import them first.")
    return version


def line_of(event: Event, show: Show, spot: Spot) -> list[str]:
    """The places of the spot's rank that stand in the drill at the event, in order of the spots."""
    mates = [s for s in rank_queries.spots(event.season) if s.rank_id == spot.rank_id]
    standing = Position.objects.filter(set__version=version_at(event, show))
    known = set(standing.values_list("place__label", flat=True).distinct())
    return [place for place in places_of(show.pk, mates).values() if place in known]


def place_of(show: Show, spot: Spot) -> str:
    """The place that the spot marches in the show."""
    return places_of(show.pk, [spot])[spot.pk]


def closed_up(
    event: Event, show: Show, spot: Spot, line: Sequence[str], sets: Collection[str] | None
) -> tuple[Changed, tuple[str, ...]]:
    """The drill with the spot's place closed up along ``line`` (places), and the labels of the
    sets it is done in: ``sets``, or those in which the places form a line."""
    version = version_at(event, show)
    before = drill_of(version, event.season)
    rows = {place: row for row, place in enumerate(before.places)}
    place = place_of(show, spot)
    if place not in rows:
        raise Refused(f"{place} stands nowhere in {version}: there is nothing to close up.")
    unknown = [name for name in line if name not in rows]
    if unknown:
        raise Refused(f"{version} has no place {', '.join(unknown)}.")
    if place not in line or len(set(line)) < 3:
        raise Refused(f"A line to close up is {place} and two others at least.")
    along = [rows[name] for name in dict.fromkeys(line)]
    chosen = (
        closing.lines_of(before, along, rows[place])
        if sets is None
        else [at for at, head in enumerate(before.sets) if head.label in sets]
    )
    after = closing.close_up(before, along, rows[place], chosen)
    labels = tuple(before.sets[at].label for at in chosen)
    return _changed(event, version, before, after), labels


def cut_down(event: Event, show: Show, first: str, last: str, counts: int) -> Changed:
    """The drill without the sets from ``first`` to ``last`` (labels)."""
    version = version_at(event, show)
    before = drill_of(version, event.season)
    order = {head.label: at for at, head in enumerate(before.sets)}
    if first not in order or last not in order:
        raise Refused(f"{version} has no such set now: choose again.")
    if counts < 1:
        raise Refused("Say in how many counts the next set is reached.")
    try:
        after = closing.cut(before, order[first], order[last], counts)
    except ValueError as error:
        raise Refused(str(error)) from error
    return _changed(event, version, before, after)


def _changed(event: Event, version: ShowVersion, before: Drill, after: Drill) -> Changed:
    limits = limits_of(event.season)
    found = show_move_checks.fresh(before, findings(before, limits), after, findings(after, limits))
    return Changed(version, before, after, tuple(found))


def close_up(
    *, actor: User, event: Event, show: Show, spot: Spot, line: Sequence[str], sets: Collection[str]
) -> ShowVersion:
    """Close the spot up at the event, in every segment that marches the show; nobody is placed
    there any more. Refused while somebody marches it."""
    with recorded(actor, "close up a line"):
        _lock(event, show)
        segments = _segments(event, show)
        _refuse_filled(event, spot, segments)
        _open_draft(actor, event)
        if not sets:
            raise Refused("Choose the sets in which the line is closed up.")
        changed, labels = closed_up(event, show, spot, line, sets)
        seats = [_leave_open(event, segment, spot) for segment in segments]
        change = {
            "code": "close",
            "spot": spot.pk,
            "line": list(line),
            "sets": list(labels),
            "open_seats": [pk for pk in seats if pk is not None],
        }
        return _save(event, changed, f"{spot} closed up", change)


def cut_show(
    *, actor: User, event: Event, show: Show, first: str, last: str, counts: int
) -> ShowVersion:
    """Cut the sets from ``first`` to ``last`` (labels) at the event."""
    with recorded(actor, "cut a show"):
        _lock(event, show)
        _segments(event, show)
        _open_draft(actor, event)
        changed = cut_down(event, show, first, last, counts)
        change = {"code": "cut", "first": first, "last": last, "counts": counts}
        name = f"set {first} cut" if first == last else f"sets {first} to {last} cut"
        return _save(event, changed, name, change)


def undo_change(*, actor: User, event: Event, show: Show) -> None:
    """Remove the event's newest own version, and the order that it gave.

    Refused where a published revision was made for it: then ``restore`` makes a new version.
    """
    with recorded(actor, "undo a change of the drill"):
        _lock(event, show)
        newest, restored = _newest(event, show)
        if restored:
            raise Refused("A later change was restored since: restore this one too.")
        revision = revision_with(event, newest)
        if revision is not None:
            raise Refused(
                f"Revision {revision.number} is published with it. Restore the drill instead: "
                "that makes a new version, and the next revision tells everybody."
            )
        _lift(event, newest)
        newest.delete()


def restore(*, actor: User, event: Event, show: Show) -> ShowVersion:
    """A new version of the event's own, as the drill was before its newest change."""
    with recorded(actor, "restore the drill"):
        _lock(event, show)
        newest, _ = _newest(event, show)
        base = ShowVersion.objects.filter(
            pk=(newest.change or {}).get("base", 0), show=show
        ).first()
        if base is None:
            raise Refused("The version before it is gone: import the coordinates again.")
        _open_draft(actor, event)
        _lift(event, newest)
        drill = drill_of(base, event.season)
        change = {"code": "restore", "of": newest.pk}
        return _save(event, Changed(base, drill, drill, ()), "restored", change)


def _lock(event: Event, show: Show) -> None:
    """Versions of a show are numbered one after another, whichever event they are for."""
    Event.objects.select_for_update().get(pk=event.pk)
    Show.objects.select_for_update().get(pk=show.pk)


def revision_with(event: Event, version: ShowVersion) -> Lineup | None:
    """The newest published revision that was made for the version."""
    published = Lineup.objects.filter(event=event, state=LineupState.PUBLISHED).order_by("-number")
    key = str(version.show_id)
    return next((x for x in published if x.show_versions.get(key) == version.pk), None)


def newest_change(own: Iterable[ShowVersion]) -> tuple[ShowVersion | None, bool]:
    """The newest of an event's changes to a show that still holds, and whether a restored version
    lies on top of it. ``own``: the event's versions of the show, oldest first."""
    by_id = {version.pk: version for version in own}
    top = next(reversed(by_id.values()), None)
    newest = top
    while newest is not None and (newest.change or {}).get("code") == "restore":
        newest = by_id.get((newest.change or {})["base"])
    return newest if newest is not None and newest.change else None, newest is not top


def _newest(event: Event, show: Show) -> tuple[ShowVersion, bool]:
    own = ShowVersion.objects.filter(at_event__event=event, show=show).order_by("order")
    newest, restored = newest_change(own)
    if newest is None:
        raise Refused(f"Nothing of {show} is changed for {event} alone.")
    return newest, restored


def _segments(event: Event, show: Show) -> list[Segment]:
    found = list(event.segments.filter(show=show, kind__in=MARCHING))
    if not found:
        raise Refused(f"{event} does not march {show}.")
    return found


def _open_draft(actor: User, event: Event) -> None:
    """What was published stays as it is: the change goes out with the next revision."""
    if lineup_queries.published(event) is not None:
        open_draft(actor=actor, event=event)


def _refuse_filled(event: Event, spot: Spot, segments: Iterable[Segment]) -> None:
    shown = lineup_queries.draft(event) or lineup_queries.published(event)
    if shown is None:
        raise Refused("There is no lineup yet: make it first, then close up what stays open.")
    filled = shown.rows.filter(spot=spot, segment__in=list(segments), member__isnull=False)
    row = filled.select_related("member__person", "segment").first()
    if row is not None:
        raise Refused(f"{row.member} marches {spot} in {row.segment}: empty it first.")


def _leave_open(event: Event, segment: Segment, spot: Spot) -> int | None:
    """The order's id where it is new."""
    pins_at(event, segment).filter(spot=spot).delete()
    seat, made = OpenSeat.objects.get_or_create(event=event, segment=segment, spot=spot)
    _mark_draft(event, spot, [segment.pk], Origin.LEFT_OPEN)
    return seat.pk if made else None


def _lift(event: Event, version: ShowVersion) -> None:
    change = version.change or {}
    seats = OpenSeat.objects.filter(event=event, pk__in=change.get("open_seats", ()))
    for seat in seats.select_related("spot"):
        segments = [seat.segment_id] if seat.segment_id else []
        seat.delete()
        _mark_draft(event, seat.spot, segments, Origin.HOLE)


def _mark_draft(event: Event, spot: Spot, segment_ids: list[int], origin: Origin) -> None:
    rows = LineupRow.objects.filter(
        lineup__event=event,
        lineup__state=LineupState.DRAFT,
        spot=spot,
        segment__in=segment_ids,
        member__isnull=True,
    )
    if rows.update(origin=origin, reason={}):
        Lineup.objects.filter(event=event, state=LineupState.DRAFT).update(version=F("version") + 1)


def _save(event: Event, changed: Changed, name: str, change: dict[str, Any]) -> ShowVersion:
    """The changed drill as the event's own version, made from the one it was seen from."""
    show = changed.version.show
    order = (show.versions.aggregate(top=Max("order"))["top"] or 0) + 1
    made = ShowVersion.objects.create(
        show=show,
        label=f"{order}: {name}"[:NAME_LENGTH],
        order=order,
        is_variant=True,
        change=change | {"base": changed.version.pk},
    )
    EventVersion.objects.create(event=event, version=made)
    _write_sets(made, changed)
    return made


def _write_sets(made: ShowVersion, changed: Changed) -> None:
    drill = changed.after
    old = {s.label: s for s in changed.version.sets.all()}
    sets = DrillSet.objects.bulk_create(
        DrillSet(
            version=made,
            order=order,
            label=head.label,
            counts=head.counts,
            tempo=head.tempo,
            is_between=old[head.label].is_between,
        )
        for order, head in enumerate(drill.sets, 1)
    )
    places = {p.label: p for p in Place.objects.filter(show=made.show_id)}
    Position.objects.bulk_create(
        Position(set=drill_set, place=places[place], x=int(x), y=int(y))
        for at, drill_set in enumerate(sets)
        for row, place in enumerate(drill.places)
        if drill.known[at, row]
        for x, y in [drill.where[at, row]]
    )
    _write_paths(sets, places, changed)


def _write_paths(sets: list[DrillSet], places: dict[str, Place], changed: Changed) -> None:
    """The words of those who go as before; who stands elsewhere now goes a way not described."""
    told = {
        (p.set.label, p.place.label): p
        for p in Path.objects.filter(set__version=changed.version).select_related("set", "place")
    }
    rows = []
    for (at, row), way in changed.after.ways.items():
        label, place = sets[at].label, changed.after.places[row]
        path = told.get((label, place))
        if path is None:
            continue
        same = _same_way(changed, label, place)
        keeps = same or way.kind is not PathKind.UNKNOWN
        rows.append(
            Path(
                set=sets[at],
                place=places[place],
                words=path.words if keeps else "",
                curved=path.curved if keeps else True,
            )
        )
    Path.objects.bulk_create(rows)


def _same_way(changed: Changed, label: str, place: str) -> bool:
    """Whether the place starts and ends this way where it did before."""
    ends = []
    for drill in (changed.before, changed.after):
        at = [s.label for s in drill.sets].index(label)
        row = drill.places.index(place)
        ends.append(drill.where[max(at - 1, 0) : at + 1, row].tolist())
    return bool(ends[0] == ends[1])
