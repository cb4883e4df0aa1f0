"""Score sheets come in many layouts; all become rows of one mark each.

A sheet with a column a criterion, or a column an evaluator, is turned: every column whose header
is no word for number, evaluator, session or the like is a heading, and each of its cells a row.
"""

from __future__ import annotations

from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.plan import Column
from bandops.lib.imports.tables import Cell, Numbered, Row, Table

NUMBER = Column(
    "number",
    "candidate number",
    "the number everybody wears",
    True,
    ("number", "no", "candidate", "bib", "candidate no", "id", "tryout number"),
)
EVALUATOR = Column(
    "evaluator",
    "evaluator",
    "letter or name",
    False,
    ("judge", "evaluator letter", "scored by", "by", "marked by"),
)
SESSION = Column(
    "session",
    "session",
    "name; the only one where there is one",
    False,
    ("day", "round", "block"),
)
CRITERION = Column(
    "criterion", "criterion", "name", False, ("category", "skill", "item", "caption")
)
HEADING = Column(
    "heading",
    "heading",
    "the head of the column a mark stood in: a criterion, an evaluator, or both",
    False,
)
MARK = Column(
    "mark", "mark", "a number, or “ns” for not seen", True, ("score", "points", "value", "result")
)
COLUMNS = (NUMBER, EVALUATOR, SESSION, CRITERION, HEADING, MARK)
IGNORED = {"name", "total", "average", "avg", "mean", "sum", "rank", "comments", "remarks", "notes"}
IGNORED |= {"part", "instrument", "section", "final", "overall"}
FURTHEST = 12
"""rows among which the row of headers is looked for"""


def turned(rows: Numbered, notes: list[str]) -> Table | None:
    """A wide sheet as rows of one mark; None for one that has a column of marks already."""
    heads = [[cell.text.strip() for cell in cells] for _, cells in rows[:FURTHEST]]
    matched = [match_headers(headers, COLUMNS) for headers in heads]
    at = next((n for n, known in enumerate(matched) if "number" in known), None)
    if at is None:
        return None
    headers, known = heads[at], matched[at]
    if "mark" in known and len(headers) - len(known) < 2:
        return None
    kept = [key for key in ("number", "evaluator", "session", "criterion") if key in known]
    wide = [
        n
        for n, header in enumerate(headers)
        if header and n not in {known[key] for key in kept} and header.lower() not in IGNORED
    ]
    found = []
    for number, row in rows[at + 1 :]:
        if not _cell(row, known["number"]).text.strip():
            continue
        fixed = tuple(_cell(row, known[key]) for key in kept)
        for n in wide:
            cell = _cell(row, n)
            if cell.text.strip():
                mark = Cell(cell.text, cell.oddity, number, headers[n])
                found.append((fixed, Cell(headers[n], None, number, headers[n]), mark))
    notes.append(f"A sheet with {len(wide)} columns of marks: each mark is a row here.")
    titles = {c.key: c.title for c in COLUMNS}
    table_rows = tuple(
        Row(n, (*fixed, heading, mark)) for n, (fixed, heading, mark) in enumerate(found, 1)
    )
    return Table((*(titles[key] for key in kept), "heading", "mark"), table_rows, tuple(notes))


def _cell(row: list[Cell], at: int) -> Cell:
    return row[at] if at < len(row) else Cell("")
