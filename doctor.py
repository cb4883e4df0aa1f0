"""Says what this machine lacks, one line each, with the command that mends it.

``python3 doctor.py [demo|test]`` runs before anything is installed, so it uses the
standard library alone and stays readable for old Pythons. Exit code 2 when no virtual
environment can be made, else 0: every other lack only switches something off.
"""

from __future__ import annotations

import argparse
import ctypes
import glob
import importlib.util
import os
import re
import shutil
import sys
from dataclasses import dataclass

OLDEST_PYTHON = (3, 11)
HOMEBREW = ("/opt/homebrew", "/usr/local")
POSTGRES_FOLDERS = (  # each ends with its version; distributions keep them off PATH
    "/usr/lib/postgresql/[0-9]*/bin",
    "/usr/pgsql-[0-9]*/bin",
    *(f"{root}/opt/postgresql@[0-9]*/bin" for root in HOMEBREW),
)
PDF_LIBRARIES = {  # as the PDF writer looks for them: Linux name, macOS name
    "Pango": ("libpango-1.0.so.0", "libpango-1.0.dylib"),
    "Pango FreeType": ("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib"),
    "HarfBuzz": ("libharfbuzz.so.0", "libharfbuzz.0.dylib"),
    "HarfBuzz subsetting": ("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib"),
}


@dataclass(frozen=True)
class Part:
    """Something the project can use: what goes without it and which packages bring it."""

    name: str
    without: str
    debian: tuple[str, ...]
    homebrew: tuple[str, ...]
    fatal: bool = False


VENV = Part(
    "Python's venv and ensurepip", "nothing can be installed", ("python3-venv",), ("python",), True
)
PDF = Part(
    "Pango and HarfBuzz",
    "pages work, PDF prints do not",
    ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"),
    ("pango",),
)
CHROMIUM = Part("Chromium", "only the browser tests need it", ("chromium",), ("--cask", "chromium"))
POSTGRES = Part(
    "PostgreSQL's programs",
    "the demo runs on SQLite, only the tests need it",
    ("postgresql",),
    ("postgresql@16",),
)
REDIS = Part(
    "redis-server",
    "the demo needs no worker, only the worker tests need it",
    ("redis-server",),
    ("redis",),
)


def python_part(version: tuple[int, int]) -> Part | None:
    """Return the fatal lack when ``version`` (major, minor) is too old, else None."""
    if version >= OLDEST_PYTHON:
        return None
    wanted = ".".join(map(str, OLDEST_PYTHON))
    name = f"Python {wanted} or newer (this is {version[0]}.{version[1]})"
    without = "name another one with make PYTHON=python3.12"
    return Part(name, without, ("python3", "python3-venv"), ("python@3.12",), True)


def has_venv() -> bool:
    """Tell whether a virtual environment with pip in it can be made."""
    return all(importlib.util.find_spec(name) for name in ("venv", "ensurepip"))


def loads(names: tuple[str, ...]) -> bool:
    """Tell whether a shared library opens under one of ``names``, Homebrew's folders included."""
    folders = [""] + [f"{root}/lib/" for root in HOMEBREW if sys.platform == "darwin"]
    for folder in folders:
        for name in names:
            try:
                ctypes.CDLL(folder + name)
            except OSError:
                continue
            return True
    return False


def find_chromium() -> str | None:
    """Return the path of a Chromium: ``CHROMIUM_PATH``, else one on PATH or in Applications.

    A ``CHROMIUM_PATH`` that is no program counts as none, so that a typing slip shows.
    """
    if "CHROMIUM_PATH" in os.environ:
        return shutil.which(os.environ["CHROMIUM_PATH"])
    names = ("chromium", "chromium-browser", "/Applications/Chromium.app/Contents/MacOS/Chromium")
    return next((path for path in map(shutil.which, names) if path), None)


def find_postgres() -> list[str]:
    """Return the folders that hold ``initdb`` and ``pg_ctl``, best first."""
    on_path = shutil.which("pg_ctl")
    found = [path for pattern in POSTGRES_FOLDERS for path in glob.glob(pattern)]  # noqa: PTH207
    found.sort(key=lambda path: int(re.findall(r"\d+", path)[-1]), reverse=True)
    folders = [os.path.dirname(os.path.realpath(on_path))] if on_path else []  # noqa: PTH120
    folders += [folder for folder in found if folder not in folders]
    return [
        folder
        for folder in folders
        if all(shutil.which(f"{folder}/{name}") for name in ("initdb", "pg_ctl"))
    ]


def find_redis() -> str | None:
    """Return the path of ``redis-server``, also where a system account's PATH does not look."""
    return shutil.which("redis-server") or shutil.which(
        "redis-server", path=os.pathsep.join(["/usr/sbin", *(f"{r}/bin" for r in HOMEBREW)])
    )


def lacks() -> list[Part]:
    """Return what this machine does not have, the fatal ones first."""
    too_old = python_part((sys.version_info[0], sys.version_info[1]))
    checks = (
        (VENV, has_venv()),
        (PDF, all(loads(names) for names in PDF_LIBRARIES.values())),
        (CHROMIUM, find_chromium() is not None),
        (POSTGRES, bool(find_postgres())),
        (REDIS, find_redis() is not None),
    )
    return ([too_old] if too_old else []) + [part for part, found in checks if not found]


def command(part: Part, *, macos: bool, root: bool) -> str:
    """Return the shell command that installs ``part`` here."""
    if macos:
        return "brew install " + " ".join(part.homebrew)
    return ("" if root else "sudo ") + "apt-get install " + " ".join(part.debian)


def line(part: Part, *, testing: bool) -> str:
    """Return the one line printed for a lack; ``testing`` names it as missing, not as a note."""
    word = "STOP" if part.fatal else "MISSING" if testing else "note"
    mend = command(part, macos=sys.platform == "darwin", root=os.geteuid() == 0)
    return f"{word}: no {part.name}: {part.without}. To install: {mend}"


def main(arguments: list[str] | None = None) -> int:
    """Print the lacks; return 2 when one of them is fatal, else 0."""
    parser = argparse.ArgumentParser(description="Say what this machine lacks.")
    parser.add_argument("purpose", nargs="?", choices=["demo", "test", "build"], default="test")
    parser.add_argument("--packages", action="store_true", help="print Debian package names only")
    options = parser.parse_args(arguments)
    found = lacks()
    fatal = any(part.fatal for part in found)
    if options.packages:
        print(" ".join(name for part in found for name in part.debian))
        return 0
    for part in found:
        if part.fatal or options.purpose != "build":
            print(line(part, testing=options.purpose == "test"), file=sys.stderr)
    return 2 if fatal else 0


if __name__ == "__main__":
    sys.exit(main())
