"""The name in a row of the import of members, in one column or in two."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.imports.plan import Fault, Record
from bandops.lib.person_names import (
    PersonName,
    in_capitals,
    in_small_letters,
    read_columns,
    read_name,
)
from roster.people.lookup import split_mark


def name_text(record: Record) -> str:
    """The name as the file writes it: the one column, or first and last name in two."""
    return " ".join(filter(None, _written(record)))


def _written(record: Record) -> tuple[str, str, str]:
    """The whole name, or first and last name, without a mark of a role beside them."""
    texts = (record["legal_name"], record["first_name"], record["last_name"])
    whole, first, last = (split_mark(text)[0] for text in texts)
    return (whole, "", "") if whole else ("", first, last)


def name_of(record: Record) -> PersonName:
    """The name read, however it is written; capitals alone become small letters."""
    text, first, last = _written(record)
    if in_capitals(name_text(record)):
        text, first, last = map(in_small_letters, (text, first, last))
    return read_name(text) if text else read_columns(first, last)


def marks_told(record: Record) -> Iterator[Fault]:
    """A warning for a mark of a role beside a name."""
    for key in ("legal_name", "first_name", "last_name"):
        name, mark = split_mark(record[key])
        if mark:
            message = f"“({mark})” next to {name} is not read: import ranks and spots for it."
            yield record.fault(key, message)
