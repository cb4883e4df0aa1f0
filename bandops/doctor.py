"""Installs what this machine lacks, or names it in one line with the command that does.

``python3 bandops/doctor.py [build|demo|test] [--install]`` runs before anything is installed,
so it uses the standard library alone, imports nothing of the project and stays readable for
old Pythons. Exit code 2 when no virtual environment can be made, else 0: every other lack
only switches something off.
"""

from __future__ import annotations

import argparse
import ctypes
import glob
import importlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass

OLDEST_PYTHON = (3, 11)
INTERRUPTED = 130
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
}
APT = (
    *("env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-y", "--no-install-recommends"),
    *("-o", "DPkg::Lock::Timeout=300"),  # a fresh machine is often at its own updates
    "install",
)
SUBSET_LIBRARY = ("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib")


def is_ubuntu(release: str = "/etc/os-release") -> bool:
    """Tell whether this is Ubuntu, whose Chromium is a snap."""
    try:
        with open(release) as lines:  # noqa: PTH123 (like the rest of this file)
            return "ID=ubuntu" in lines.read().splitlines()
    except OSError:
        return False


@dataclass(frozen=True)
class Part:
    """Something the project can use: what it is for, what goes without it, who brings it."""

    name: str
    use: str
    without: str
    debian: tuple[str, ...]
    homebrew: tuple[str, ...]
    fatal: bool = False


VENV = Part(
    "Python's venv and ensurepip",
    "to make the Python environment",
    "without them nothing can be installed",
    (f"python{sys.version_info[0]}.{sys.version_info[1]}-venv",),
    ("python",),
    True,
)
PDF = Part(
    "Pango and HarfBuzz",
    "for PDF prints",
    "everything but the PDF prints works",
    ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"),
    ("pango",),
)
SUBSET = Part(
    "HarfBuzz's font subsetter",
    "for the fonts in PDF prints",
    "prints are made all the same, a second or two slower",
    ("libharfbuzz-subset0",),
    ("harfbuzz",),
)
CHROMIUM = Part(
    "Chromium",
    "for the browser tests",
    "the browser tests are left out",
    ("chromium-browser" if is_ubuntu() else "chromium",),  # Ubuntu's brings the snap
    ("--cask", "chromium"),
)
POSTGRES = Part(
    "PostgreSQL's programs",
    "for the tests on PostgreSQL",
    "the tests use a packaged PostgreSQL, or SQLite alone",
    ("postgresql",),
    ("postgresql@16",),
)
REDIS = Part(
    "redis-server",
    "for the worker tests",
    "the worker tests are left out",
    ("redis-server",),
    ("redis",),
)
GPG = Part(
    "gpg",
    "for the tests of encrypted backups",
    "the tests of backups are left out",
    ("gpg",),
    ("gnupg",),
)
NEEDED = {
    "build": (VENV,),
    "demo": (VENV, PDF, SUBSET),
    "test": (VENV, PDF, SUBSET, CHROMIUM, POSTGRES, REDIS, GPG),
}


def old_python(version: tuple[int, int]) -> str | None:
    """Return the line that stops a Python that is too old, else None."""
    if version >= OLDEST_PYTHON:
        return None
    wanted, this = (".".join(map(str, pair)) for pair in (OLDEST_PYTHON, version))
    return (
        f"STOP: Python {wanted} or newer is needed, this is {this}."
        " Name another one that is installed: make demo PYTHON=python3.12"
    )


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
    # Ubuntu's chromium-browser is only a script that asks for the snap.
    other = "/snap/bin/chromium" if is_ubuntu() else "chromium-browser"
    names = ("chromium", other, "/Applications/Chromium.app/Contents/MacOS/Chromium")
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


def lacks(purpose: str = "test") -> list[Part]:
    """Return what this machine does not have of what the purpose needs, the fatal ones first."""
    prints = all(loads(names) for names in PDF_LIBRARIES.values())
    checks: dict[Part, Callable[[], bool]] = {
        VENV: has_venv,
        PDF: lambda: prints,
        SUBSET: lambda: not prints or loads(SUBSET_LIBRARY),  # else it comes with the others
        CHROMIUM: lambda: find_chromium() is not None,
        POSTGRES: lambda: bool(find_postgres()),
        REDIS: lambda: find_redis() is not None,
        GPG: lambda: shutil.which("gpg") is not None,
    }
    return [part for part in NEEDED[purpose] if not checks[part]()]


def command(*parts: Part, macos: bool, root: bool) -> str:
    """Return the one shell command that installs ``parts`` here."""
    if macos:
        return " && ".join(" ".join(["brew install", *part.homebrew]) for part in parts)
    names = [name for part in parts for name in part.debian]
    return " ".join([*([] if root else ["sudo"]), "apt-get install", *names])


def missing_line(parts: list[Part]) -> str:
    """Return the one line that names ``parts``, what goes without them, and the command."""
    word = "STOP, missing" if any(part.fatal for part in parts) else "Missing"
    names = ", ".join(f"{part.name} ({part.without})" for part in parts)
    return f"{word}: {names}. To install: {_advice(parts)}"


def _advice(parts: list[Part]) -> str:
    if sys.platform == "darwin":
        return command(*parts, macos=True, root=False)
    if shutil.which("apt-get") is None:
        return "what Debian calls " + " ".join(name for part in parts for name in part.debian)
    root, sudo = os.geteuid() == 0, shutil.which("sudo") is not None
    return ("" if root or sudo else "as root, ") + command(
        *parts, macos=False, root=root or not sudo
    )


def rights() -> list[str] | None:
    """Return what goes before a command that installs, or None where nothing may be.

    A password is asked for only where somebody sits at a terminal.
    """
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo") is None:
        return None
    asks = sys.stdin is not None and sys.stdin.isatty()
    return ["sudo"] if asks or quietly(["sudo", "-n", "true"]) is None else None


def installer() -> list[str] | None:
    """Return the words before the names of packages, or None where nothing may be installed."""
    if sys.platform == "darwin":
        brew = shutil.which("brew")
        return [brew, "install"] if brew else None
    before = rights() if shutil.which("apt-get") else None
    return None if before is None else [*before, *APT]


def announcement(parts: list[Part]) -> str:
    """Return the one line said before installing: what and why."""
    macos = sys.platform == "darwin"
    names = ", ".join(
        f"{' '.join(part.homebrew if macos else part.debian)} ({part.use})" for part in parts
    )
    return (
        f"Installing with {'brew' if macos else 'apt-get'}, which may take minutes: {names}."
        " SYSTEM=no would only name them."
    )


def install(parts: list[Part], start: list[str]) -> None:
    """Install each part by itself, so that one that cannot be had keeps no other away."""
    if start[0] == "sudo" and subprocess.call(["sudo", "true"]) != 0:  # noqa: S607 (from PATH)
        return  # the one password for all of them was not given
    if "apt-get" in start:
        # A mirror that does not answer is no reason to stop: the lists may be here already.
        quietly([*start[:-1], "update"])
    for part in parts:
        failure = quietly([*start, *(part.debian if "apt-get" in start else part.homebrew)])
        if failure is not None:
            print(f"{part.name} could not be installed: {failure}", file=sys.stderr)


def quietly(words: list[str]) -> str | None:
    """Run a command without showing what it prints; return its last line where it fails."""
    done = subprocess.run(  # noqa: S603 (words of this file, no shell)
        words,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    lines = done.stdout.decode(errors="replace").strip().splitlines()
    return None if done.returncode == 0 else (lines or [f"exit code {done.returncode}"])[-1]


def mend(purpose: str) -> list[Part]:
    """Install what the purpose lacks, where that is allowed; return what is lacking still."""
    parts = lacks(purpose)
    start = installer() if parts else None
    if start is None:
        return parts
    print(announcement(parts), flush=True)
    install(parts, start)
    importlib.invalidate_caches()
    return lacks(purpose)


def main(arguments: list[str] | None = None) -> int:
    """Mend or name the lacks; return 2 when one of them is fatal, else 0."""
    parser = argparse.ArgumentParser(description="Install or name what this machine lacks.")
    parser.add_argument("purpose", nargs="?", choices=sorted(NEEDED), default="test")
    parser.add_argument("--install", action="store_true", help="install it, not only name it")
    options = parser.parse_args(arguments)
    stop = old_python((sys.version_info[0], sys.version_info[1]))
    if stop is not None:
        print(stop, file=sys.stderr)
        return 2
    parts = mend(options.purpose) if options.install else lacks(options.purpose)
    if parts:
        print(missing_line(parts), file=sys.stderr)
    return 2 if any(part.fatal for part in parts) else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
