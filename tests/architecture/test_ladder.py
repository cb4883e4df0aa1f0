"""Imports run one way: a line of the ladder imports only the lines above it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
APPS = ("roster", "drill")

# Lower numbers are lower steps; a module may import its own step and those below.
STEPS = (
    ("core", 1),
    ("enums", 2),
    ("viewer", 4),
    ("rules", 4),
    ("models", 3),
    ("frozen", 3),
    ("queries", 4),
    ("wording", 4),
    ("move_words", 4),
    ("drill_words", 4),
    ("fundamental_words", 4),
    ("labels", 4),
    ("pictures", 4),
    ("footprints", 4),
    ("services", 5),
    ("imports", 5),
    ("sheets", 5),
    ("exports", 5),
    ("forms", 6),
    ("pdf", 6),
    ("views", 7),
    ("api", 7),
    ("management", 7),
    ("jobs", 7),
    ("urls", 8),
    ("apps", 8),
)
COMPOSITION = ("bandops.urls", "bandops.api", "bandops.celery", "bandops.wsgi", "bandops.settings")
CORE_MAY_IMPORT = {"numpy", "scipy", "highspy", "ortools", *sys.stdlib_module_names}
CORE_MUST_NOT = {"time", "random", "sqlite3", "secrets", "locale", "gettext"}


def modules() -> list[Path]:
    found = []
    for top in ("bandops", *APPS):
        found += [p for p in (ROOT / top).rglob("*.py") if "migrations" not in p.parts]
    return found


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(path: Path) -> set[str]:
    """Every module named in an import, inside functions too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: write imports in full"
            found |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module}
    return found


def step_of(module: str) -> int | None:
    parts = module.split(".")
    if parts[0] not in APPS or len(parts) < 2:
        return None
    return next((step for name, step in STEPS if name == parts[1]), None)


ALL = [pytest.param(path, id=name_of(path)) for path in modules()]


@pytest.mark.parametrize("path", ALL)
def test_a_module_imports_only_what_stands_below_it(path: Path) -> None:
    name = name_of(path)
    here = step_of(name)
    for imported in imports_of(path):
        there = step_of(imported)
        if here is not None and there is not None:
            assert there <= here, f"{name} imports {imported}, which stands above it"


@pytest.mark.parametrize("path", ALL)
def test_the_apps_stand_on_one_another(path: Path) -> None:
    name = name_of(path)
    if name.startswith(COMPOSITION):
        return
    for imported in imports_of(path):
        if name.startswith("bandops"):
            assert not imported.startswith(APPS), f"{name} imports {imported}"
        if name.startswith("roster"):
            assert not imported.startswith("drill"), f"{name} imports {imported}"
        assert not imported.startswith(COMPOSITION), f"{name} imports the composition root"


@pytest.mark.parametrize("path", [p for p in ALL if ".core" in str(p.id)])
def test_the_core_imports_only_numbers(path: Path) -> None:
    own = ".".join(name_of(path).split(".")[:2])
    for imported in imports_of(path):
        top = imported.split(".")[0]
        if imported.startswith(own):
            continue
        assert top in CORE_MAY_IMPORT, f"{name_of(path)} imports {imported}"
        assert top not in CORE_MUST_NOT, f"{name_of(path)} imports {imported}"


def test_every_module_of_the_apps_has_its_step() -> None:
    unplaced = {
        name
        for path in modules()
        if (name := name_of(path)).startswith(APPS) and "." in name and step_of(name) is None
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
