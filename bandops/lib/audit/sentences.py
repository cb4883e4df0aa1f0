"""An action as a person would say it: "put Ana Ruiz in 4-11 for Pregame".

The words are the models' (``audit_said``, see `AuditEntry`): ``{column}`` is what the column says,
``{row}`` what the row is called; what stands in brackets is left out where a column in it says
nothing. An action may have several, the first that fits is taken.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from django.apps import apps

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import Names, model_of

MOST_SAID = 2
"""rows that a sentence names; of more it says how many"""
PLACE, OPTIONAL = re.compile(r"\{(\w+)\}"), re.compile(r"\[([^\]]*)\]")
Say = Callable[[AuditEntry, str], str]
"""what a column of an entry says; nothing where it is empty"""


@cache
def said_of(action: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Table -> the words its model has for the action, in the order of the rooms."""
    found = []
    for model in apps.get_models():
        said: Mapping[str, Any] = getattr(model, "audit_said", {})
        words = said.get(action) or next((said[key] for key in said if _begins(action, key)), None)
        if words:
            found.append((model._meta.db_table, (words,) if isinstance(words, str) else words))
    return tuple(found)


def _begins(action: str, key: str) -> bool:
    """Some actions go on with a name: their words stand under what they begin with, and a star."""
    return key.endswith("*") and action.startswith(key[:-1])


def sentence(
    action: str, entries: Sequence[AuditEntry], counts: Mapping[tuple[str, str], int], say: Say
) -> str:
    """What was done, without whose doing it was; ``counts`` is how many rows of each table were
    added, changed or removed."""
    for table, templates in said_of(action):
        told = _told([entry for entry in entries if entry.table == table])
        rows = counts.get((table, told[0].op), 0) if told else 0
        for template in templates:
            said = list(dict.fromkeys(_filled(template, told, say)))
            if said:
                return _together(said, rows)
    return action


def _together(said: list[str], rows: int) -> str:
    if len(said) <= MOST_SAID:
        return " and ".join(said)
    return f"{said[0]} and {max(rows, len(said)) - 1} more"


def _told(entries: Sequence[AuditEntry]) -> list[AuditEntry]:
    """The rows a sentence is about, oldest first, each as it was left: what was added, where
    anything was, else what was changed, else what was removed."""
    newest: dict[str, AuditEntry] = {}
    for entry in entries:
        newest.setdefault(entry.row_id, entry)
    for op in (AuditEntry.Op.INSERT, AuditEntry.Op.UPDATE, AuditEntry.Op.DELETE):
        if found := [entry for entry in newest.values() if entry.op == op]:
            return sorted(found, key=lambda entry: entry.pk)
    return []


def _filled(template: str, entries: Iterable[AuditEntry], say: Say) -> Iterator[str]:
    if "{" not in template:
        yield template
        return
    for entry in entries:
        pieces = [_with(piece, entry, say) for piece in OPTIONAL.split(template)]
        if None not in pieces[::2]:
            yield "".join(piece or "" for piece in pieces)


def _with(text: str, entry: AuditEntry, say: Say) -> str | None:
    """The text with its columns said; None where one says nothing."""
    values = {name: say(entry, name) for name in PLACE.findall(text)}
    if not all(values.values()):
        return None
    return PLACE.sub(lambda found: values[found[1]], text)


def sayer(names: Names, in_words: Callable[[Any, dict[str, Any]], Any]) -> Say:
    """What columns say, with the names of what they point to."""

    def say(entry: AuditEntry, name: str) -> str:
        if name == "row":
            return names.row(entry)
        row, model = entry.after or entry.before or {}, model_of(entry.table)
        column = f"{name}_id" if f"{name}_id" in row else name
        pointed = names.value(model, column, row)
        if pointed or row.get(column) in (None, ""):
            return pointed
        return str(in_words(row[column], row))

    return say
