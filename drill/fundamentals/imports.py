"""Import of the band's own abbreviations."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.imports.columns import too_long
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.names import clean_name
from drill.fundamentals.core.abbreviations import problem, word_problem
from drill.fundamentals.core.word_tokens import Phrase, phrase
from drill.fundamentals.models import Abbreviation
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.fundamentals.services.reading import table_of
from roster.people.models import Season

COLUMNS = (
    Column("word", "abbreviation", "such as TR", True, ("word", "short")),
    Column("says", "says", "the moves it stands for", True, ("means", "meaning")),
)
LONGEST = {"word": 40, "says": 120}


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Abbreviations by their word. What the file does not name stays."""
    result = Plan()
    fundamentals = fundamentals_of(season)
    now = {phrase(row.said): row for row in Abbreviation.objects.filter(season=season)}
    table = dict(table_of(season))
    named: dict[Phrase, Record] = {}
    for record in mapped.records():
        said = phrase(clean_name(record["word"]))
        faults = list(too_long(record, LONGEST))
        trouble = word_problem(clean_name(record["word"]), fundamentals)
        if trouble:
            faults.append(record.fault("word", trouble))
        if not clean_name(record["says"]):
            faults.append(record.fault("says", "Say what it stands for."))
        if said in named:
            message = f"“{record['word']}” comes twice, first in row {named[said].number}."
            faults.append(record.fault("word", message))
        result.faults += faults
        if not faults:
            named[said], table[said] = record, clean_name(record["says"])
    for said in table:
        trouble = problem(said, table, fundamentals)
        if trouble and said in named:
            result.faults.append(named[said].fault("says", trouble))
    for said, record in named.items():
        result.lines.append(_line(record, now.get(said) or Abbreviation(season=season)))
    return result


def _line(record: Record, row: Abbreviation) -> Line:
    """A row made or changed."""
    before = (row.word, row.says)
    word, says = clean_name(record["word"]), clean_name(record["says"])
    changes = tuple(
        FieldChange(name, old, new)
        for name, old, new in zip(("abbreviation", "says"), before, (word, says), strict=True)
        if row.pk and old != new
    )
    action = Action.CHANGE if changes else Action.SAME if row.pk else Action.ADD

    def do() -> None:
        if action is not Action.SAME:
            row.word, row.says, row.said = word, says, " ".join(phrase(word))
            row.full_clean()
            row.save()

    return Line(record.number, action, f"{word}: {says}", changes, do)


KIND = register(
    ImportKind(
        "abbreviations",
        "Abbreviations",
        "The band’s own words for moves, read before the usual ones.",
        COLUMNS,
        plan,
        order=10,
    )
)
