"""Words of a file that can mean only one thing: read so, and kept when the file is saved."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from bandops.lib.imports.plan import Plan
from bandops.lib.imports.questions import Question, questions_of
from bandops.lib.imports.words import Answer

MOST_ROUNDS = 4
"""how often what was read may show a word that stood behind another"""

Planning = Callable[[list[Answer]], Plan]
"""plans a file whose words mean what some answers say"""


def plan_with_presets(planning: Planning, season: Any) -> tuple[Plan, list[Question]]:
    """The plan of a file whose certain words are read, and the questions those would be."""
    read: dict[str, Question] = {}
    plan = planning([])
    for _ in range(MOST_ROUNDS):
        asked = {q.name: q for q in questions_of(plan.faults, season) if q.answer}
        if not asked.keys() - read.keys():
            break
        read |= asked
        plan = planning(answers_read(read.values()))
    return plan, list(read.values())


def answers_read(questions: Iterable[Question]) -> list[Answer]:
    """What the presets of questions say."""
    return [answer for question in questions if (answer := question.answer)]
