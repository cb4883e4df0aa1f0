"""The words of moves: compared with coordinates, and kept beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.field.core.field import UNITS_PER_INCH
from drill.fundamentals.core import Fundamental, Move
from drill.fundamentals.core.against import Comparison, compare
from drill.fundamentals.core.words import HEADINGS, NotUnderstood, read_words
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.fundamentals.services.reading import spell_out
from drill.shows.models import Dot, DrillSet, Path, Position
from roster.people.models import Season

LONGEST = 300
"""characters of a path's words"""
At = tuple[int, int]


@dataclass(frozen=True)
class DotLine:
    """A dot on its way to a set: where from and to (1/32 inch, None where it has no
    coordinate), the path kept so far, and the words compared where there are any."""

    dot: Dot
    start: At | None
    end: At | None
    path: Path | None
    comparison: Comparison | None


def set_before(it: DrillSet) -> DrillSet | None:
    """The set that a set's counts lead from."""
    return DrillSet.objects.filter(version=it.version_id, order__lt=it.order).last()


def with_facing(
    words: str, facing: str, season: Season, fundamentals: dict[str, Fundamental]
) -> str:
    """The words with where they look at the start, said in them; abbreviations spelled out.

    Raises:
        Refused: where a word is not understood.
    """
    words = spell_out(words.strip(), season, fundamentals)
    moves = understood(words, fundamentals)
    if moves[0].heading is not None:
        return words
    return f"facing {facing if facing in HEADINGS else 'front'}, {words}"


def understood(words: str, fundamentals: dict[str, Fundamental]) -> tuple[Move, ...]:
    """The moves; Refused with the word that is not understood."""
    if len(words) > LONGEST:
        raise Refused(f"One move can be at most {LONGEST} letters long.")
    try:
        return read_words(words, fundamentals)
    except NotUnderstood as error:
        raise Refused(str(error)) from error


def lines_of(season: Season, it: DrillSet, dots: Sequence[Dot], words: str = "") -> list[DotLine]:
    """The dots on their way to the set; with words, run from the set before and compared.

    Queries: a fixed number. Refused where a word is not understood.
    """
    fundamentals = fundamentals_of(season)
    moves = understood(words, fundamentals) if words else ()
    before = set_before(it)
    at = _positions(it, dots)
    start = _positions(before, dots) if before else {}
    paths = {p.dot_id: p for p in Path.objects.filter(set=it, dot__in=dots)}
    found = []
    for dot in dots:
        ends = (start.get(dot.pk), at.get(dot.pk))
        found.append(
            DotLine(dot, *ends, paths.get(dot.pk), _compared(it, moves, fundamentals, *ends))
        )
    return found


def _positions(it: DrillSet, dots: Sequence[Dot]) -> dict[int, At]:
    rows = Position.objects.filter(set=it, dot__in=dots)
    return {dot: (x, y) for dot, x, y in rows.values_list("dot_id", "x", "y")}


def _compared(
    it: DrillSet,
    moves: tuple[Move, ...],
    fundamentals: dict[str, Fundamental],
    start: At | None,
    end: At | None,
) -> Comparison | None:
    if not moves or start is None or end is None:
        return None
    return compare(moves, fundamentals, start=_inches(start), target=_inches(end), counts=it.counts)


def _inches(at: At) -> tuple[float, float]:
    return (at[0] / UNITS_PER_INCH, at[1] / UNITS_PER_INCH)


def save_words(
    *, actor: User, season: Season, drill_set: DrillSet, dots: Iterable[Dot], words: str
) -> int:
    """Keep the words, abbreviations spelled out, as the way of the dots to the set; coordinates
    stay as they are."""
    fundamentals = fundamentals_of(season)
    words = spell_out(words, season, fundamentals)
    understood(words, fundamentals)
    return _save(actor, "save words of a move", drill_set, dots, words=words, curved=False)


def mark_curved(*, actor: User, drill_set: DrillSet, dots: Iterable[Dot]) -> int:
    """The dots do not go straight to the set, and nobody has said how."""
    return _save(actor, "mark a curve", drill_set, dots, words="", curved=True)


def make_straight(*, actor: User, drill_set: DrillSet, dots: Iterable[Dot]) -> int:
    """The dots go straight again; how many did not."""
    with recorded(actor, "make a move straight"):
        return Path.objects.filter(set=drill_set, dot__in=list(dots)).delete()[0]


def _save(
    actor: User,
    action: str,
    drill_set: DrillSet,
    dots: Iterable[Dot],
    *,
    words: str,
    curved: bool,
) -> int:
    chosen = list(dots)
    if not chosen:
        raise Refused("Choose a dot.")
    if set_before(drill_set) is None:
        raise Refused(f"No move leads to {drill_set}: it is the first.")
    with recorded(actor, action):
        DrillSet.objects.select_for_update().get(pk=drill_set.pk)
        Path.objects.bulk_create(
            [Path(set=drill_set, dot=p, words=words, curved=curved) for p in chosen],
            update_conflicts=True,
            unique_fields=["set", "dot"],
            update_fields=["words", "curved"],
        )
    return len(chosen)
