"""The history says what was done as a person would, whatever table or action it was."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import models

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import columns_marked, field_of, table_name
from bandops.lib.audit.reading import actions
from bandops.lib.audit.sentences import PLACE, said_of
from bandops.lib.audit.triggers import audited_models
from drill.absences.services.absences import Report, report_absence
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand, take_proposal
from drill.lineup.services.orders import lift_order, pin_member
from roster.ranks.services.holdings import swap_holders
from tests.factories import Band, Cast

ROOT = Path(__file__).resolve().parents[2]
SPECIAL = {"ACTION": ["change the alternates' pools"]}
"""actions that stand in a name"""
UNWRITTEN = {"ask for prints", "ask for rehearsal call", "ask for set sheets"}
"""write jobs alone, of which the audit tells nothing"""
PASSED_ON = {"action": ["save words of a move", "mark a curve"]}


def names_in(node: ast.expr) -> Iterator[str]:
    """The actions that an expression may be; of one that goes on with a name, its beginning."""
    if isinstance(node, ast.Constant):
        yield str(node.value)
    elif isinstance(node, ast.IfExp):
        yield from names_in(node.body)
        yield from names_in(node.orelse)
    elif isinstance(node, ast.Subscript):
        yield from names_in(node.value)
    elif isinstance(node, ast.JoinedStr):
        yield "".join(str(v.value) for v in node.values[:1] if isinstance(v, ast.Constant)) + "…"
    elif isinstance(node, ast.Name):
        yield from (SPECIAL | PASSED_ON)[node.id]
    else:
        raise AssertionError(f"an action that nobody can read: {ast.unparse(node)}")


def all_actions() -> set[str]:
    found: set[str] = set()
    for house in ("bandops", "roster", "drill"):
        for path in (ROOT / house).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and ast.unparse(node.func) == "recorded":
                    found |= {name for given in node.args[1:2] for name in names_in(given)}
    return found


def said() -> Iterator[tuple[type[models.Model], str, str]]:
    """(model, action, template) of all words."""
    for model in apps.get_models():
        words: dict[str, Any] = getattr(model, "audit_said", {})
        for action, templates in words.items():
            every = (templates,) if isinstance(templates, str) else templates
            yield from ((model, action, template) for template in every)


def test_every_action_has_words() -> None:
    found = all_actions()
    assert len(found) > 100
    assert not sorted(action for action in found - UNWRITTEN if not said_of(action))


def test_no_words_are_left_of_actions_that_are_gone() -> None:
    known = all_actions()
    begun = tuple(name.removesuffix("…") for name in known if name.endswith("…"))
    gone = {action for _, action, _ in said() if action not in known}
    assert not {action for action in gone if not action.removesuffix("*").startswith(begun)}


def test_every_table_has_a_name_that_people_say() -> None:
    wrong = [m for m in audited_models() if not re.fullmatch(r"[a-z][a-z -]+", name(m))]
    assert not wrong, [name(model) for model in wrong]


def name(model: type[models.Model]) -> str:
    return table_name(model._meta.db_table)


def test_words_name_columns_that_exist_and_are_nobodys_secret() -> None:
    private = columns_marked("audit_private") | columns_marked("audit_noted")
    for model, action, template in said():
        for column in PLACE.findall(template):
            there = field_of(model, column) or field_of(model, f"{column}_id")
            assert column == "row" or there, f"{model.__name__}, {action}: {column}"
            marked = (model._meta.db_table, column)
            assert marked not in private, f"{model.__name__}, {action}: {column}"


def last_said() -> str:
    batch = AuditEntry.objects.exclude(batch="").latest("id").batch
    (action,) = actions([batch])
    return f"{action.by} {action.said}"


@pytest.mark.django_db
@pytest.mark.postgres("the audit's JSON is read")
def test_actions_are_told_in_sentences(band: Band, cast: Cast) -> None:
    staff, event, spot = cast.staff, band.event, band.spots["1-3"]
    jon, cai = band.members["Jon Pell"], band.members["Cai Ørnberg"]
    draft = open_draft(actor=staff, event=event)
    assert last_said() == "Staff started the lineup for Pellowick at home"
    place_by_hand(
        actor=staff,
        event=event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=spot,
        member=jon,
    )
    assert last_said() == "Staff put Jon Pell in 1-3 for Halftime"
    pin = pin_member(actor=staff, event=event, segment=None, spot=spot, member=jon)
    assert last_said() == "Staff pinned Jon Pell to 1-3"
    lift_order(actor=staff, order=pin)
    assert last_said() == "Staff lifted the pin of Jon Pell to 1-3", "of a row that is gone"
    draft.refresh_from_db()
    take_proposal(actor=staff, event=event, seen_version=draft.version)
    assert last_said() == "Staff took the proposal for Pellowick at home"
    bo, gus = band.members["Bo Larkspur"], band.members["Gus Tamm"]
    swap_holders(actor=staff, first=bo, second=gus, on=band.season.starts)
    said = last_said()
    assert "moved Bo Larkspur to" in said and " and moved Gus Tamm to" in said
    report = Report(cai, {"kind": "out", "event": event})
    report_absence(actor=cast.member, report=report, by_staff=False)
    assert last_said() == "Cai Ørnberg noted Cai Ørnberg as out for Pellowick at home"
