"""What the page of backups tells of holes and of who backups them."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from typing import Any

from django.urls import reverse

from bandops.lib.charts import (
    Bar,
    Chart,
    Interval,
    Key,
    Line,
    Row,
    Scale,
    Strip,
    axis_of,
    scale_for,
    stacked,
)
from bandops.lib.keys import key
from bandops.lib.names import plain
from bandops.lib.person_names import family_name
from bandops.lib.web import matrix
from drill.backups.core.coverage import Lesson, State
from drill.backups.core.worry import Worry, worries
from drill.backups.services.backup_lines import SpotLine, spot_lines
from drill.backups.services.chances import Chances
from drill.backups.services.coverage import WORST, Covered
from drill.backups.wording import chances_words, percent_words
from drill.events.models import Event
from drill.lineup.models import Backup
from drill.lineup.wording import Names
from roster.ranks.models import Rank, Spot

OFTEN, MOST_NAMED = 3, 8
"""how many times the average is often; how many of those are named"""
MOST_WORRIES = 10
WORDS = {State.SAFE: "safe", State.THIN: "thin", State.BARE: "bare", State.HOLE: "open"}
KINDS = {State.SAFE: "safe", State.THIN: "thin", State.BARE: "bare", State.HOLE: "three"}


def chances_context(usual: Chances, chances: dict[str, float], names: Names) -> dict[str, Any]:
    """How the chances were come by, and who is out most often; never why."""
    prior = usual.prior
    often = sorted((-usual.of(m), m) for m in chances if usual.of(m) >= OFTEN * prior.average)
    return {
        "chances": chances_words(
            usual.performances, usual.rehearsals, prior.average, math.isfinite(prior.strength)
        ),
        "often": _often_chart([(names.member(m), -chance) for chance, m in often], prior.average),
        "often_others": len(often[MOST_NAMED:]),
    }


def _often_chart(often: list[tuple[str, float]], average: float) -> Chart | None:
    """Who is out most often, with the average beside."""
    if not often:
        return None
    scale = scale_for((100 * chance for _, chance in often), least_high=10.0)
    line = Line(scale.at(100 * average))
    rows = tuple(
        Row(name, Strip((Bar(0, scale.at(100 * chance)),), lines=(line,)), percent_words(chance))
        for name, chance in often[:MOST_NAMED]
    )
    return Chart("Out most often", rows, axis_of(scale, "%"), head="Member", what="Likely out")


def coverage_context(
    found: Covered, chances: dict[str, float], names: Names, *, with_pairs: bool
) -> dict[str, Any]:
    """What the page shows of an event's spots and backups."""
    lines = spot_lines(found, names)
    counts = Counter(line.state for line in lines)
    worst = worries(found.segments, chances)
    return {
        "shares": _shares(counts),
        "may": [(WORDS[state], n) for state, n in sorted(_may_counts(found), key=_worst_last)],
        "matrix": _matrix(found.event, lines),
        "worries": _worry_chart(found.event, worst[:MOST_WORRIES], lines),
        "expected": sum(worry.chance for worry in worst),
        "supports": _supports(found, names),
        "lessons": _by_learner(found.lessons.lessons, names),
        "alone": [(names.member(x.member), names.spot(x.spot)) for x in found.lessons.alone],
        "lessons_proven": found.lessons.proven,
        "hopeless": [f"{names.segment(g)} {names.spot(s)}" for g, s in found.lessons.hopeless],
        "limits": sorted({rule.value for segment in found.segments for rule in segment.limits}),
        "pairs": _pairs(found, names) if with_pairs else None,
    }


def spot_context(found: Covered, chances: dict[str, float], spot: Spot) -> dict[str, Any]:
    """One spot's line, and how likely its member is to be out."""
    lines = spot_lines(found, Names(found.event.season_id))
    line = next((line for line in lines if line.spot.pk == spot.pk), None)
    return {
        "line": line,
        "state": WORDS[line.state] if line else "",
        "may": WORDS[line.may] if line else "",
        "chance": _percent(chances, line.member) if line else "",
        "backups": Backup.objects.filter(spot=spot).select_related("member__person"),
    }


def plan_chart(figures: dict[str, Any]) -> Chart | None:
    """The open spots to expect without and with the plan, with their error."""
    if not figures:
        return None
    rows = (
        ("No lessons", "before"),
        ("Next spots in order", "plain"),
        ("Dealt by risk", "by_risk"),
        ("This plan", "after"),
    )
    scale = scale_for(mean + half for _, name in rows for mean, half in [figures[name]])
    bars = tuple(
        Row(
            text,
            _estimate(scale, mean, half, "one" if name == "after" else "rest"),
            f"{mean:.2f} ± {half:.2f}",
        )
        for text, name in rows
        for mean, half in [figures[name]]
    )
    return Chart("Open spots to expect", bars, axis_of(scale), head="Who learns", what="Open spots")


def _estimate(scale: Scale, mean: float, half: float, kind: str) -> Strip:
    ends = Interval(scale.at(mean - half), scale.at(mean + half))
    return Strip(bars=(Bar(0, scale.at(mean), kind),), intervals=(ends,))


def _shares(counts: Counter[State]) -> Chart:
    """All spots as one bar to scale."""
    order = tuple(reversed(WORST))
    scale = Scale(0, max(1, counts.total()))
    bars = stacked(scale, [counts[state] for state in order], [KINDS[state] for state in order])
    keys = tuple(Key(KINDS[s], f"{counts[s]} {WORDS[s]}") for s in order)
    words = f"{counts.total()} spots"
    return Chart("How well the spots are covered", (Row("", Strip(bars), words),), keys=keys)


def _matrix(event: Event, lines: list[SpotLine]) -> list[matrix.Row]:
    by_rank: dict[Rank, list[matrix.Cell]] = defaultdict(list)
    for line in lines:
        url = reverse("spot-coverage", args=[event.pk, line.spot.pk])
        state = "" if line.state is State.SAFE else WORDS[line.state]
        cell = matrix.Cell(
            line.spot.label,
            "open" if line.state is State.HOLE else family_name(line.holder),
            url,
            line.state.value,
            state,
            line.holder,
        )
        by_rank[line.spot.rank].append(cell)
    return [row for rank, cells in by_rank.items() for row in matrix.rows_of(rank.label, cells)]


def _worry_chart(event: Event, worst: tuple[Worry, ...], lines: list[SpotLine]) -> Chart | None:
    if not worst:
        return None
    at = {key(line.spot.pk): line for line in lines}
    scale = scale_for((100 * worry.chance for worry in worst), least_high=5.0)
    rows = tuple(
        Row(
            f"{line.spot} {line.holder}",
            Strip(bars=(Bar(0, scale.at(100 * worry.chance), KINDS[line.state]),)),
            f"{percent_words(worry.chance)}, {WORDS[line.state]}",
            reverse("spot-coverage", args=[event.pk, line.spot.pk]),
        )
        for worry in worst
        for line in [at[worry.spot]]
    )
    return Chart("Spots to worry about", rows, axis_of(scale, "%"), head="Spot", what="May open")


def _by_learner(lessons: Iterable[Lesson], names: Names) -> list[tuple[str, list[str]]]:
    """Each learner with their spots."""
    spots: dict[str, list[str]] = defaultdict(list)
    for lesson in lessons:
        spots[names.member(lesson.member)].append(names.spot(lesson.spot))
    return sorted(spots.items(), key=lambda item: plain(item[0]))


def _percent(chances: dict[str, float], member: str | None) -> str:
    return percent_words(chances[member]) if member is not None and member in chances else ""


def _may_counts(found: Covered) -> list[tuple[State, int]]:
    return list(Counter(found.worst(found.may).values()).items())


def _worst_last(item: tuple[State, int]) -> int:
    return -WORST.index(item[0])


def _supports(found: Covered, names: Names) -> list[tuple[str, list[str]]]:
    """Who holds up more than one spot, most first."""
    hanging: dict[str, set[str]] = defaultdict(set)
    for segment in found.segments:
        for support in segment.supports:
            hanging[support.member] |= set(support.spots)
    busy = [(m, sorted(spots)) for m, spots in hanging.items() if len(spots) > 1]
    busy.sort(key=lambda item: (-len(item[1]), item[0]))
    return [(names.member(m), [names.spot(s) for s in spots]) for m, spots in busy]


def _pairs(found: Covered, names: Names) -> list[tuple[str, list[str]]]:
    def people(group: tuple[str, ...]) -> str:
        return ", ".join(names.member(member) for member in group)

    return [(names.segment(f.segment), [people(g) for g in f.groups]) for f in found.pairs()]
