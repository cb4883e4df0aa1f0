"""Starts what the machine does not run for the tests, runs them, and stops it all again.

``python -m tests.services [--database sqlite|postgres|both] [--fast] [--long] [--workers N]
-- [pytest arguments]`` makes a private PostgreSQL and a private Redis on free ports in a
temporary folder. All tests run on SQLite, in as many processes as there are cores; those marked
``postgres`` run once more on PostgreSQL. What cannot be started is said loudly and skipped; with
``CI=true`` or ``REQUIRE_PG=1``, ``REQUIRE_REDIS=1``, ``REQUIRE_BROWSER=1``, ``REQUIRE_PDF=1`` a
lack fails the run. ``DATABASE_URL_TEST`` and ``REDIS_URL_TEST`` name servers to use instead; the
machine's own are never touched.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bandops import doctor
from tests.servers import STOP_SECONDS, CannotStartError, private_postgres, private_redis
from tests.timing import TIMES, summary

INTERRUPTED = 130
NOTHING_CHOSEN = 5
STOP_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
REQUIRED = {
    "PostgreSQL": "REQUIRE_PG",
    "Redis": "REQUIRE_REDIS",
    "Chromium": "REQUIRE_BROWSER",
    "Pango": "REQUIRE_PDF",
}
PART = {
    "PostgreSQL": doctor.POSTGRES,
    "Redis": doctor.REDIS,
    "Chromium": doctor.CHROMIUM,
    "Pango": doctor.PDF,
}


@dataclass(frozen=True)
class Plan:
    """What is to be run: on which databases, in how many processes, how thoroughly."""

    database: str = "both"
    fast: bool = False
    long: bool = False
    workers: int = 1
    arguments: Sequence[str] = ()

    @property
    def suites(self) -> dict[str, str]:
        """The databases with the marks of the tests that run on them."""
        if self.fast:
            return {"SQLite": "not browser and not worker and not servers and not walk"}
        on = {"SQLite": "", "PostgreSQL": "postgres"}
        left_out = {"sqlite": "PostgreSQL", "postgres": "SQLite"}.get(self.database)
        return {name: marks for name, marks in on.items() if name != left_out}

    def command(self, suite: str) -> list[str]:
        """The arguments of pytest; the caller's own come last and have the last word."""
        spread = ["-n", str(self.workers), "--dist", "worksteal"] if self.workers > 1 else []
        chosen = ["-m", self.suites[suite]] if self.suites[suite] else []
        return ["-p", "tests.timing", *spread, *chosen, *self.arguments]


@dataclass
class Services:
    """What the tests get: addresses, and the reason for each thing that is missing."""

    database_url: str | None = None
    redis_url: str | None = None
    chromium: str | None = None
    times: Path = Path(tempfile.gettempdir())
    missing: dict[str, str] = field(default_factory=dict)


def start_services(
    stack: contextlib.ExitStack, *, postgres: bool = True, fast: bool = False
) -> Services:
    """Find or start what the tests use, PostgreSQL only if asked; ``stack`` stops it again.

    The fast run prints, but needs no server and no browser.
    """
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bandops-tests-")))
    folder.chmod(0o711)  # the servers' account must reach its own folder inside
    services = Services(
        database_url=os.environ.get("DATABASE_URL_TEST"),
        redis_url=os.environ.get("REDIS_URL_TEST"),
        chromium=doctor.find_chromium(),
        times=folder,
    )
    if services.chromium is None and not fast:
        services.missing["Chromium"] = "none on PATH, and CHROMIUM_PATH names no program"
    if doctor.PDF in doctor.lacks():
        services.missing["Pango"] = "its libraries do not load"
    try:
        if postgres and not services.database_url:
            starter = private_postgres(_new_folder(folder / "postgres"))
            services.database_url = stack.enter_context(starter)
    except CannotStartError as error:
        services.missing["PostgreSQL"] = str(error)
    try:
        if not fast and not services.redis_url:
            services.redis_url = stack.enter_context(private_redis(_new_folder(folder / "redis")))
    except CannotStartError as error:
        services.missing["Redis"] = str(error)
    return services


def _new_folder(path: Path) -> Path:
    path.mkdir()
    return path


def required() -> set[str]:
    """Return the services that must not be missing: all of them where ``CI`` is set."""
    if os.environ.get("CI", "").lower() in ("1", "true"):
        return set(REQUIRED)
    return {name for name, flag in REQUIRED.items() if os.environ.get(flag) == "1"}


def environment(services: Services, *, postgres: bool, long: bool = False) -> dict[str, str]:
    """Return the environment of one pytest run: ours instead of the caller's addresses."""
    given: dict[str, str | None] = {
        "DJANGO_SETTINGS_MODULE": "bandops.settings.test",
        "DATABASE_URL": services.database_url if postgres else None,
        "REDIS_URL": services.redis_url,
        "CELERY_BROKER_URL": None,
        "CHROMIUM_PATH": services.chromium,
        "LONG": "yes" if long else None,
        TIMES: str(times_file(services, "PostgreSQL" if postgres else "SQLite")),
    }
    result = {name: value for name, value in os.environ.items() if name not in given}
    result.update({name: value for name, value in given.items() if value})
    result.update({REQUIRED[name]: "1" for name in required()})
    return result


def times_file(services: Services, suite: str) -> Path:
    """Where a run leaves the seconds of its tests."""
    return services.times / f"{suite}.json"


def run_pytest(arguments: Sequence[str], variables: dict[str, str]) -> int:
    """Run pytest and return its exit code; when interrupted let it tidy up, then raise."""
    child = subprocess.Popen([sys.executable, "-m", "pytest", *arguments], env=variables)
    try:
        return child.wait()
    except KeyboardInterrupt:
        if not sys.stdin or not sys.stdin.isatty():  # a terminal has told it already
            child.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired, KeyboardInterrupt):
            child.wait(STOP_SECONDS)
        raise
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()


def run_suites(services: Services, plan: Plan) -> dict[str, int]:
    """Run the tests on SQLite and on PostgreSQL; return the exit codes by database."""
    codes: dict[str, int] = {}
    for suite, marks in plan.suites.items():
        postgres = suite == "PostgreSQL"
        if postgres and not services.database_url:
            continue
        chosen = f"those that are {marks}" if marks else "all"
        print(f"\n=== Tests on {suite} ({chosen}; {plan.workers} processes) ===", flush=True)
        variables = environment(services, postgres=postgres, long=plan.long)
        code = run_pytest(plan.command(suite), variables)
        if code == NOTHING_CHOSEN and plan.arguments and codes:
            print("None of the tests that were asked for is one for PostgreSQL.")
            continue
        codes[suite] = code
    return codes


def report_missing(missing: dict[str, str]) -> list[str]:
    """Print each missing service loudly; return the names that must not be missing."""
    here = {"macos": sys.platform == "darwin", "root": os.geteuid() == 0}
    for name, reason in missing.items():
        word = "FAIL" if name in required() else "SKIP"
        mend = doctor.command(PART[name], **here)
        print(f"!!! {word}: no {name} for the tests: {reason}. To install: {mend}", flush=True)
    return sorted(required().intersection(missing))


def run_all(plan: Plan) -> int:
    """Start, test, stop, and say what came out; return 0 only when everything passed."""
    with contextlib.ExitStack() as stack:
        for number in STOP_SIGNALS:
            stack.callback(signal.signal, number, signal.getsignal(number))
            signal.signal(number, signal.default_int_handler)
        try:
            services = start_services(stack, postgres="PostgreSQL" in plan.suites, fast=plan.fast)
            report_missing(services.missing)
            codes = run_suites(services, plan)
            print("\n".join(summary({name: times_file(services, name) for name in codes})))
        finally:
            for number in STOP_SIGNALS:  # a second ctrl-C must not leave a server behind
                signal.signal(number, signal.SIG_IGN)
    print("\n=== Outcome ===")
    for name, code in codes.items():
        print(f"{name}: {'passed' if code == 0 else f'FAILED (pytest exit code {code})'}")
    lacking = report_missing(services.missing)
    return int(bool(lacking) or not codes or any(codes.values()))


def main(arguments: list[str] | None = None) -> int:
    """Run the command line described at the top of this file; return its exit code."""
    parser = argparse.ArgumentParser(description="Run the tests with private services.")
    parser.add_argument("--database", choices=["sqlite", "postgres", "both"], default="both")
    parser.add_argument("--fast", action="store_true", help="no browser, worker or PostgreSQL")
    parser.add_argument("--long", action="store_true", help="more, and new, random examples")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    options = parser.parse_args(arguments)
    try:
        return run_all(
            Plan(options.database, options.fast, options.long, options.workers, options.pytest)
        )
    except KeyboardInterrupt:
        print("\nInterrupted; the private services are stopped.", file=sys.stderr)
        return INTERRUPTED


if __name__ == "__main__":
    sys.exit(main())
