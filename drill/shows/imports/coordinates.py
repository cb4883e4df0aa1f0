"""Import of coordinates, in numbers or words, from three layouts of sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from bandops.lib.accounts.models import User
from bandops.lib.dates import day_words
from bandops.lib.imports.columns import missing_columns, not_read
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Fault, FieldChange, Line, Mapped, Plan
from drill.shows.imports.coordinate_checks import check
from drill.shows.imports.coordinate_columns import COLUMNS
from drill.shows.imports.coordinate_reader import Draft, Reader
from drill.shows.imports.layouts import table_of
from drill.shows.imports.new_dots import new_dots
from drill.shows.models import DrillSet, Position, ShowVersion
from drill.shows.services.versions import SetLine, Stand, write_version
from drill.shows.ties import SHOWN_AT, Occasion, published_versions
from roster.people.models import Season


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Each version named in the file is written anew from it."""
    result = Plan(faults=[*missing_columns(mapped), *_lacking(mapped)])
    reader = Reader(result, mapped, season)
    drafts = [draft for draft in reader.read() if draft.points]
    checked = [(draft, check(result, draft)) for draft in drafts]
    if result.faults:
        return result
    result.lines = [_line(result, draft, _stored_too(mapped, draft, to)) for draft, to in checked]
    result.warnings += [fault for draft in drafts for fault in new_dots(reader.labels, draft)]
    used = published_versions(season.pk)
    written = zip(drafts, result.lines, strict=True)
    changed = [draft for draft, line in written if line.action is Action.CHANGE]
    kept = [draft for draft in changed if draft.version is not None and draft.version.pk in used]
    if kept:
        shown = _shown_at(season)
        result.warnings += [_caution(draft, shown) for draft in kept]
    return result


def _shown_at(season: Season) -> dict[int, list[Occasion]]:
    shown: dict[int, list[Occasion]] = defaultdict(list)
    for answer in SHOWN_AT.ask(season):
        for pk, occasions in answer.items():
            shown[pk] += occasions
    return shown


def _caution(draft: Draft, shown: dict[int, list[Occasion]]) -> Fault:
    """By hand such a version is not changed at all; a corrected file may be what the band needs
    on the day, so an import may, once somebody has read what it does."""
    version = draft.version
    events = shown.get(version.pk, []) if version else []
    if events:
        named = ", ".join(f"{event.name} ({day_words(event.date)})" for event in events)
        lineups = f"lineup{'s' if len(events) > 1 else ''}"
        message = f"{version} is the drill of the published {lineups} for {named}. Where its "
        message += "spots march changes there, and members' cards change at once: no change "
        message += "notice tells them."
    else:
        message = f"{version} is the drill of an earlier published lineup, which no longer "
        message += "matches what was printed from it."
    message += " To leave it as it is, give the version in the file another label."
    return draft.points[0].record.fault("version", message, grave=True)


def _lacking(mapped: Mapped) -> Iterator[Fault]:
    if "show" not in mapped.mapping:
        message = "No show is named: put a line “Show: its name” above the table, or a column."
        yield Fault(0, "show", message)
    if not {"x", "y"} <= mapped.mapping.keys() and "coordinate" not in mapped.mapping:
        message = "No columns for where the dots stand: "
        message += "choose across and depth, or coordinate, above."
        yield Fault(0, "across", message + not_read(mapped))


def _stored_too(mapped: Mapped, draft: Draft, lines: list[SetLine]) -> list[SetLine]:
    """What the file has no column for stays as it is stored."""
    old = {}
    if draft.version is not None:
        old = {s.label: s for s in DrillSet.objects.filter(version=draft.version)}
    keep = [key for key in ("subset", "tempo") if key not in mapped.mapping]
    return [_kept(line, old.get(line.label), keep) for line in lines]


def _kept(line: SetLine, old: DrillSet | None, keep: Sequence[str]) -> SetLine:
    if old is None:
        return line
    subset = old.is_subset if "subset" in keep else line.is_subset
    return SetLine(line.label, line.counts, subset, old.tempo if "tempo" in keep else line.tempo)


def _line(result: Plan, draft: Draft, lines: list[SetLine]) -> Line:
    old_lines, old = _stored(draft.version)
    stands = [
        Stand(p.set, p.dot, p.x, p.y)
        for p in draft.points
        if p.x is not None and p.y is not None  # else there is a fault, and no line is made
    ]
    new = set(stands)
    result.basis += [old_lines, sorted((s.set, s.dot, s.x, s.y) for s in old)]
    show, label, row = draft.show, draft.label, draft.points[0].record.number
    text = f"{show.name}, version {label}: {len(lines)} sets, {len(stands)} positions"

    def do() -> None:
        if show.pk is None:
            show.save()
        write_version(show, label, lines, stands)

    if draft.version is None:
        return Line(row, Action.ADD, text, (), do)
    changes = []
    if old_lines != lines:
        changes.append(FieldChange("sets and counts", _sets_text(old_lines), _sets_text(lines)))
    if old != new:
        now = f"{len(new)}, {len(new - old)} of them new or moved"
        changes.append(FieldChange("positions", str(len(old)), now))
    if not changes:
        return Line(row, Action.SAME, text)
    return Line(row, Action.CHANGE, text, tuple(changes), do)


def _stored(version: ShowVersion | None) -> tuple[list[SetLine], set[Stand]]:
    if version is None:
        return [], set()
    sets = DrillSet.objects.filter(version=version).order_by("order")
    lines = [SetLine(s.label, s.counts, s.is_subset, s.tempo) for s in sets]
    rows = Position.objects.filter(set__version=version)
    stands = rows.values_list("set__label", "dot__label", "x", "y")
    return lines, {Stand(*row) for row in stands}


def _sets_text(lines: list[SetLine]) -> str:
    return ", ".join(f"{line.label} ({_set_text(line)})" for line in lines)


def _set_text(line: SetLine) -> str:
    tempo = f", {line.tempo} a minute" if line.tempo else ""
    return f"{line.counts}{', subset' if line.is_subset else ''}{tempo}"


KIND = register(
    ImportKind(
        "coordinates",
        "Coordinates",
        "One row per dot and set, one block per dot, or a wide table; in 8-to-5 steps or "
        "words. A version named in the file is replaced.",
        COLUMNS,
        plan,
        order=7,
        layout=table_of,
        reads_on=True,
        together=("show", "version"),
    )
)
