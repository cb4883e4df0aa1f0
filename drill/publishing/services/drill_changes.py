"""What a publication changes in the drill: who stands elsewhere, who gets to a set otherwise."""

from __future__ import annotations

from bandops.lib.keys import key
from drill.lineup.models import Lineup
from drill.lineup.queries import dots_in
from drill.lineup.services.problem_builder import Built
from drill.publishing.core.set_moves import Jump, moved_spots
from drill.publishing.core.telling import SetMove
from drill.shows.services.comparing import pictures_of


def set_moves(last: Lineup, built: Built) -> tuple[SetMove, ...]:
    """The spots that stand elsewhere since the last revision, or reach a set otherwise: where a
    segment's show has another version, or its spots other dots, than it was published with."""
    by_show = {
        show: _moves(last, built, show) for show in built.versions if _differs(last, built, show)
    }
    return tuple(
        SetMove(segment, *move)
        for segment, row in built.segments.items()
        for move in by_show.get(row.show_id or 0, ())
    )


def _differs(last: Lineup, built: Built, show: int) -> bool:
    old = last.show_versions.get(str(show))
    was, now = _dots(last, built, show)
    return old is not None and (old != built.versions[show].pk or was != now)


def _moves(last: Lineup, built: Built, show: int) -> list[tuple[str, str, float | Jump | None]]:
    before, after = last.show_versions[str(show)], built.versions[show].pk
    return moved_spots(pictures_of(before), pictures_of(after), *_dots(last, built, show))


def _dots(last: Lineup, built: Built, show: int) -> tuple[dict[str, str], dict[str, str]]:
    """The spots' dots in a show as the last revision had them, and now."""
    was = dots_in(last, show, built.spots.values())
    now = built.drills.dots[show]
    return {key(s): dot for s, dot in was.items()}, {key(s): p for s, p in now.items()}
