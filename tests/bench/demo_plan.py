"""``python -m tests.bench.demo_plan``: what backup plans are worth to the demo band.

First the Backups page's own figures for each setting of the chances, on scenarios that the plan was
not made from but that its chances were. Then the same over invented seasons: members get chances
as the demo's generator deals them, a season of absences is drawn from those, plans are made from
what the season shows, and judged on scenarios from the chances themselves, which no plan knows.
"""

from __future__ import annotations

import io
import os
import random
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from statistics import mean, median
from typing import TYPE_CHECKING, Any

from drill.backups.core.backup_plan import Plan, backup_plan
from drill.backups.core.backup_plan.dealing import by_risk
from drill.backups.core.backup_plan.scenarios import Event, Scenarios
from drill.backups.core.chances import History
from drill.backups.core.chances import chances as fitted
from drill.backups.core.coverage.ground import ground_of
from drill.backups.core.coverage.result import Lesson

if TYPE_CHECKING:
    from drill.backups.models import BackupPlan
    from drill.backups.services.coverage import Covered

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
SCENARIOS, SEASONS, USUAL, EACH = 10_000, 10, 0.05, (1, 2, 3)


def main() -> None:
    """Load the demo band into a database of its own and print both tables."""
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "bandops.settings.test",
        "DATABASE_URL": "sqlite://:memory:",
    }
    sys.path.append(str(FIXTURES))
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("load_demo", stdout=io.StringIO())
    plan = _demo_plan()
    found = _as_the_page_has_it(plan)
    for each in EACH:
        _over_seasons(found, each)


def _demo_plan() -> BackupPlan:
    from bandops.lib.accounts.models import User
    from drill.backups.models import BackupPlan
    from drill.events import queries as event_queries
    from drill.lineup.services.drafts import open_draft
    from roster.people.models import Season

    event = event_queries.next_event(Season.objects.get())
    assert event is not None
    open_draft(actor=User.objects.get(email__startswith="director"), event=event)
    return BackupPlan.objects.create(event=event)


def _as_the_page_has_it(plan: BackupPlan) -> Covered:
    from drill.backups.enums import ChancesFrom
    from drill.backups.services.chances import chances_of
    from drill.backups.services.plans import compute_plan

    print("chances, lessons each: none, plain, by risk, plan ± half-width; sample bound")
    for plan.lessons_each in EACH:
        for plan.chances_from in (ChancesFrom.SAME, ChancesFrom.SEASON):
            whole = compute_plan(plan)
            found, made = whole.found, whole.plan
            figures = (made.before, made.plain, made.by_risk, made.holes)
            row = ", ".join(f"{x.mean:.2f}" for x in figures)
            ratio = made.holes.mean / made.plain.mean
            print(
                f"{plan.chances_from}, {plan.lessons_each}: {row} ± {made.holes.half_width:.2f}; "
                f"{made.sample_bound or 0:.2f}; plan / plain {ratio:.2f}",
                flush=True,
            )
    chances = chances_of(plan)
    mine = sorted(chances.of(m) for m in chances.histories)
    print(f"{chances.performances} performances, {chances.rehearsals} rehearsals: {chances.prior}")
    print(f"chances from {mine[0]:.3f} through {median(mine):.3f} to {mine[-1]:.3f}")
    return found


def _over_seasons(found: Covered, each: int) -> None:
    """Means over seasons: lessons from what a season shows, from one chance, from the truth."""
    rows = [_season(found, each, seed) for seed in range(SEASONS)]
    names = rows[0].keys()
    print(f"{each} each, {SEASONS} seasons, judged by the truth:", end=" ")
    print(", ".join(f"{name} {mean(row[name] for row in rows):.2f}" for name in names), end="; ")
    for name in ("season", "same", "truth"):
        ratio = mean(row[name] / row["plain"] for row in rows)
        print(f"{name} / plain {ratio:.2f}", end="  ")
    print(flush=True)


def _season(found: Covered, each: int, seed: int) -> dict[str, float]:
    truth, history = _invented(found, seed)
    doubtful = _doubtful(found)
    made = {
        "same": _plan(found, each, dict.fromkeys(truth, USUAL) | doubtful),
        "season": _plan(found, each, fitted(history, USUAL) | doubtful),
        "truth": _plan(found, each, truth | doubtful),
    }
    event = _event(found, truth | doubtful)
    judge = Scenarios.draw(event, SCENARIOS, seed, 9)

    def holes(lessons: Iterable[Lesson]) -> float:
        return judge.start().teach(lessons).holes / SCENARIOS

    risk = by_risk(_event(found, fitted(history, USUAL) | doubtful), each, frozenset())
    values = {"none": holes(()), "plain": holes(made["same"].plain_lessons), "by risk": holes(risk)}
    return values | {name: holes(plan.lessons) for name, plan in made.items()}


def _invented(found: Covered, seed: int) -> tuple[dict[str, float], dict[str, History]]:
    """Chances of missing the demo game, and a season's history drawn from the same members."""
    from generator import absences, season

    rng = random.Random(seed)
    days = [e.day for e in season.make_events() if e.day < season.DEMO_OPENS]
    truth, history = {}, {}
    for member in sorted(found.built.members):
        own = rng.betavariate(*absences.SHAPE)
        truth[member] = absences.miss_chance(season.DEMO_DATE, own)
        missed = sum(rng.random() < absences.miss_chance(day, own) for day in days)
        history[member] = History(len(days), missed)
    return truth, history


def _doubtful(found: Covered) -> dict[str, float]:
    from drill.absences.core.availability import State

    standings = found.built.standings.items()
    return {m: float(s.chance) for (m, _), s in standings if s.state is State.DOUBTFUL}


def _arguments(found: Covered) -> dict[str, Any]:
    from drill.backups.services.coverage import known_pairs
    from drill.backups.services.plans import learners

    return {
        "known": known_pairs(found.built, with_plan=False),
        "learners": learners(found.built),
    }


def _plan(found: Covered, each: int, chances: Mapping[str, float]) -> Plan:
    arguments = _arguments(found)
    return backup_plan(
        found.built.problem,
        found.placements,
        lessons_each=each,
        chances=chances,
        bound_sample=0,
        **arguments,
    )


def _event(found: Covered, chances: Mapping[str, float]) -> Event:
    arguments = _arguments(found)
    ground = ground_of(found.built.problem, found.placements, arguments["known"])
    return Event.of(ground, arguments["learners"], chances)


if __name__ == "__main__":
    main()
