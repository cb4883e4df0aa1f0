"""The drill of one event: a line closed up, a show cut, and either taken back."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from django.db.models import F

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from drill.closing.services.closed import Changed, closed_up, cut_down
from drill.closing.services.saving import save_version
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup, LineupRow, OpenSeat, Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.orders import lift_pins
from drill.shows.models import Show, ShowVersion
from drill.shows.services.move_checks import drill_of
from roster.ranks.models import Spot


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
            raise Refused("Choose the sets to close up the line in.")
        changed, labels = closed_up(event, show, spot, line, sets)
        seats = [_leave_open(event, segment, spot) for segment in segments]
        change = {
            "code": "close",
            "spot": spot.pk,
            "line": list(line),
            "sets": list(labels),
            "open_seats": [pk for pk in seats if pk is not None],
        }
        return save_version(event, changed, f"{spot} closed up", change)


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
        return save_version(event, changed, name, change)


def undo_change(*, actor: User, event: Event, show: Show, seen: int | None = None) -> None:
    """Remove the event's newest own version, and the order that it gave.

    Overtaken where the newest is not the one ``seen`` on the page; Refused where a published
    revision was made for it: then ``restore`` makes a new version.
    """
    with recorded(actor, "undo a change of the drill"):
        _lock(event, show)
        newest, restored = _newest(event, show, seen)
        if restored:
            raise Refused("A later change was restored: restore this one too.")
        revision = revision_with(event, newest)
        if revision is not None:
            raise Refused(
                f"Revision {revision.number} is published with it. Restore the drill instead: "
                "that makes a new version, and the next revision tells everybody."
            )
        _lift(event, newest)
        newest.delete()


def restore(*, actor: User, event: Event, show: Show, seen: int | None = None) -> ShowVersion:
    """A new version of the event's own, as the drill was before its newest change, which is the
    one ``seen`` on the page."""
    with recorded(actor, "restore the drill"):
        _lock(event, show)
        newest, _ = _newest(event, show, seen)
        base = ShowVersion.objects.filter(
            pk=(newest.change or {}).get("base", 0), show=show
        ).first()
        if base is None:
            raise Refused("The version before it is gone: import the coordinates again.")
        _open_draft(actor, event)
        _lift(event, newest)
        drill = drill_of(base, event.season)
        change = {"code": "restore", "of": newest.pk}
        return save_version(event, Changed(base, drill, drill, ()), "restored", change)


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


def _newest(event: Event, show: Show, seen: int | None) -> tuple[ShowVersion, bool]:
    own = ShowVersion.objects.filter(at_event__event=event, show=show).order_by("order")
    newest, restored = newest_change(own)
    if newest is None:
        raise Refused(f"Nothing in {show} is changed for {event} only.")
    if seen is not None and newest.pk != seen:
        raise Overtaken(f"Somebody just changed the drill of {show}: look at it again.")
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
    lift_pins(event, Pin.objects.filter(event=event, spot=spot), segment)
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
