"""Rooms: an order between them, floors within them, and nothing that a new room must edit.

Every file is read, imports inside functions too.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HOUSES = ("roster", "drill")
COMPOSITION = ("bandops.urls", "bandops.api", "bandops.celery", "bandops.wsgi", "bandops.settings")

# The floors of a room, lowest first; a module imports its own floor and those below it.
FLOORS = (
    ("core",),
    ("enums",),
    ("models", "frozen", "part_names"),
    ("ties", "viewer"),
    ("queries", "rules", "wording", "lookup", "labels", "footprints", "pictures"),
    ("services", "sheets"),
    ("fields", "entries"),
    ("imports", "exports", "forms", "filters", "charts", "pdf", "search", "joins", "posted"),
    ("views", "api", "jobs", "menu", "prints", "management"),
    ("urls", "api_urls", "apps"),
)
FLOOR_OF = {name: floor for floor, names in enumerate(FLOORS) for name in names}
SHARED = {
    *("core", "enums", "models", "ties", "viewer", "queries", "rules", "wording", "lookup"),
    *("labels", "footprints", "pictures", "services", "sheets", "fields", "entries", "pdf"),
    "posted",
}
"""what other rooms may import of a room: never its views or forms, nor what it registers"""
CORE_MAY_IMPORT = {"numpy", "scipy", "highspy", "ortools", *sys.stdlib_module_names}
CORE_MUST_NOT = {"time", "random", "sqlite3", "secrets", "locale", "gettext"}
PARTS = re.compile(r'\{%\s*(?:include|extends)\s+"([^"]+)"')
STANDS_ON = re.compile(r"^Stands on: (.+?)\.$", re.MULTILINE | re.DOTALL)


def modules() -> list[Path]:
    found: list[Path] = []
    for top in ("bandops", *HOUSES):
        found += [p for p in sorted((ROOT / top).rglob("*.py")) if "migrations" not in p.parts]
    return found


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def imports_of(path: Path) -> frozenset[str]:
    """Every name that is imported, in full, inside functions too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: write imports in full"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return frozenset(found)


def rooms() -> list[Path]:
    return sorted(path.parent for house in HOUSES for path in (ROOT / house).glob("*/apps.py"))


def room_of(module: str) -> str | None:
    """'lineup' of drill.lineup.core.problem; None outside the rooms."""
    parts = module.split(".")
    return parts[1] if parts[0] in HOUSES and len(parts) > 1 else None


def part_of(module: str) -> str | None:
    """'core' of drill.lineup.core.problem."""
    parts = module.split(".")
    return parts[2] if parts[0] in HOUSES and len(parts) > 2 else None


def docstring(room: Path) -> str:
    return ast.get_docstring(ast.parse((room / "__init__.py").read_text(encoding="utf-8"))) or ""


def declared(room: Path) -> frozenset[str]:
    """The rooms that a room says it stands on."""
    said = STANDS_ON.search(docstring(room))
    assert said, f"{room.name} does not say what it stands on"
    names = {name.strip() for name in said[1].replace("\n", " ").split(",")}
    return frozenset(names - {"the ground floor alone"})


def imported_rooms(room: Path) -> Iterator[tuple[str, str]]:
    """(module, what it imports) for each import of another room."""
    for path in sorted(room.rglob("*.py")):
        if "migrations" not in path.parts:
            for imported in imports_of(path):
                if room_of(imported) not in (None, room.name):
                    yield name_of(path), imported


ALL = [pytest.param(path, id=name_of(path)) for path in modules()]
CORES = [pytest.param(path, id=name_of(path)) for path in modules() if "core" in path.parts]
ROOMS = [pytest.param(room, id=room.name) for room in rooms()]


@pytest.mark.parametrize("path", ALL)
def test_a_module_imports_only_its_floor_and_those_below(path: Path) -> None:
    name = name_of(path)
    here, floor = room_of(name), FLOOR_OF.get(part_of(name) or "")
    for imported in imports_of(path):
        below = FLOOR_OF.get(part_of(imported) or "")
        if here and room_of(imported) == here and floor is not None and below is not None:
            assert below <= floor, f"{name} imports {imported}, which stands above it"


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_the_rooms_it_says_it_stands_on(room: Path) -> None:
    used = {room_of(imported) for _, imported in imported_rooms(room)}
    assert used == declared(room)


def test_rooms_stand_in_an_order() -> None:
    graph = {room.name: declared(room) for room in rooms()}
    order = list(TopologicalSorter(graph).static_order())  # raises CycleError on a circle
    assert set(order) == set(graph), "rooms stand on rooms that there are"


def test_the_roster_stands_under_the_drill() -> None:
    roster = {room.name for room in rooms() if room.parent.name == "roster"}
    for room in rooms():
        if room.name in roster:
            assert declared(room) <= roster


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_no_views_and_no_forms_of_another(room: Path) -> None:
    for name, imported in imported_rooms(room):
        assert part_of(imported) in SHARED, f"{name} imports {imported}"


@pytest.mark.parametrize("room", ROOMS)
def test_templates_take_parts_of_rooms_below(room: Path) -> None:
    above = {it.name for it in rooms()} - declared(room) - {room.name}
    for path in room.rglob("templates/**/*.html"):
        for part in PARTS.findall(path.read_text(encoding="utf-8")):
            assert part.split("/")[0] not in above, f"{path.name} takes {part}"


@pytest.mark.parametrize("room", ROOMS)
def test_tables_refer_to_tables_of_rooms_below(room: Path) -> None:
    """A relation written as a text would be an arrow that no import shows."""
    labels = {it.name for it in rooms()}
    for path in [*room.glob("models.py"), *room.glob("models/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert node.value.split(".")[0] not in labels or "." not in node.value


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_says_what_it_is_for(room: Path) -> None:
    text = docstring(room)
    assert text and len(text.splitlines()) <= 15
    assert (ROOT / "tests" / room.parent.name / room.name).is_dir(), "its tests stand under it"


@pytest.mark.parametrize("room", ROOMS)
def test_the_places_to_start_at_are_there(room: Path) -> None:
    for place in re.findall(r"`([^` ]+)`", docstring(room)):
        file, _, name = place.removesuffix(".py").partition(".")
        found = [it for it in (room / f"{file}.py", room / file) if it.exists()]
        assert found, f"{room.name}: no {place}"
        if name and found[0].is_file():
            text = found[0].read_text(encoding="utf-8")
            assert re.search(rf"^(def|class) {name}\b", text, re.MULTILINE), f"no {place}"


@pytest.mark.parametrize("path", ALL)
def test_the_ground_floor_knows_no_room(path: Path) -> None:
    name = name_of(path)
    if name.startswith(COMPOSITION):
        return
    for imported in imports_of(path):
        if name.startswith("bandops"):
            assert not imported.startswith(HOUSES), f"{name} imports {imported}"
        assert not imported.startswith(COMPOSITION), f"{name} imports the composition root"


def test_no_list_outside_a_room_names_a_room() -> None:
    """Rooms are found and register themselves; a new one edits nothing of others."""
    names = {f"{room.parent.name}.{room.name}" for room in rooms()}
    dotted = re.compile(rf"\b(?:{'|'.join(re.escape(name) for name in names)})\b")
    known = {"bandops/settings/base.py": {"roster.people"}}  # the viewers' middleware
    for path in modules():
        where = str(path.relative_to(ROOT))
        if where.startswith("bandops"):
            found = set(dotted.findall(path.read_text(encoding="utf-8")))
            assert found <= known.get(where, set()), f"{where} names {found}"


@pytest.mark.parametrize("path", CORES)
def test_the_core_imports_only_numbers_and_other_cores(path: Path) -> None:
    for imported in imports_of(path):
        top = imported.split(".")[0]
        if top in HOUSES:
            assert part_of(imported) == "core", f"{name_of(path)} imports {imported}"
            continue
        assert top in CORE_MAY_IMPORT, f"{name_of(path)} imports {imported}"
        assert top not in CORE_MUST_NOT, f"{name_of(path)} imports {imported}"


def test_every_module_of_a_room_has_its_floor() -> None:
    unplaced = {
        name
        for path in modules()
        if (part := part_of(name := name_of(path))) is not None and part not in FLOOR_OF
    }
    assert not unplaced


def test_the_core_runs_without_django() -> None:
    names = [name_of(p) for p in modules() if "core" in p.parts]
    code = "import sys\n" + "\n".join(f"import {n}" for n in names)
    code += "\nassert not [m for m in sys.modules if m.split('.')[0] == 'django']"
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


def test_no_registry_host_and_no_address_in_the_lock() -> None:
    for name in ("requirements.txt", "requirements-dev.txt"):
        text = (ROOT / name).read_text()
        assert "://" not in text and "--index" not in text and "--hash=sha256:" in text
