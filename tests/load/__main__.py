"""Puts the load on and prints what came of it."""

from __future__ import annotations

import argparse
import contextlib
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from pathlib import Path

from tests.load.asking import Timed, get, in_turn, post, spread
from tests.load.site import ROOT, Site, figures, site_of

PHONES, SECONDS, MARKERS = 400, 300.0, 60
READINGS = 50
PRINT = (
    "from drill.publishing.services.print_kinds import render_print; "
    "from drill.lineup.models import Lineup; "
    "it = Lineup.objects.filter(state='published').latest('pk'); "
    "render_print(it, 'lineup', 'letter', '')"
)
SOLVE = (
    "from drill.lineup.services.problem_builder import build; "
    "from drill.lineup.core.solver import solve; from drill.events.models import Event; "
    "solve(build(Event.objects.filter(lineups__isnull=False).latest('date')).problem)"
)


def empty_page(site: Site) -> Timed:
    """The measure: what the server answers without a query, one after the other."""
    return in_turn([get(site.port, "/offline/")] * READINGS)


def phones(site: Site, count: int, seconds: float) -> Timed:
    """Cards opened after a publication, while two print packs and a solve go on."""
    sessions = site.seed["phones"]
    asks = [get(site.port, "/card/", sessions[n % len(sessions)]) for n in range(count)]
    with site.beside(PRINT), site.beside(PRINT), site.beside(SOLVE):
        return spread(asks, seconds)


def marking(site: Site) -> Timed:
    """Sixty people note attendance at once."""
    url, director = f"/rehearsals/{site.seed['rehearsal']}/attendance/note/", site.seed["director"]
    asks = []
    for member in site.seed["members"][:MARKERS]:
        data = {"key": str(uuid.uuid4()), "member": str(member), "state": "here", "next": "/"}
        asks.append(post(site.port, url, director, data))
    return spread(asks, 0, threads=MARKERS)


def measured(site: Site, count: int, seconds: float) -> dict[str, tuple[Timed, Timed]]:
    """Each load beside the empty page of the same minute."""
    spread([get(site.port, "/card/", s) for s in site.seed["phones"][:8]], 0, threads=2)  # warm
    opened = (phones(site, count, seconds), empty_page(site))
    marked = (marking(site), empty_page(site))
    return {
        f"{count} phones in {seconds:.0f} s": opened,
        f"{MARKERS} mark attendance at once": marked,
    }


def tell(found: dict[str, tuple[Timed, Timed]]) -> None:
    """Ratios, and what was answered wrongly."""
    for name, (load, empty) in found.items():
        base = empty.at(0.5)
        print(
            f"  {name:32} p50 {load.at(0.5) / base:7.1f}  p99 {load.at(0.99) / base:7.1f} times an "
            f"empty page ({base * 1000:.1f} ms); {len(load.wrong)} of {len(load.seconds)} wrong"
        )


@contextlib.contextmanager
def checked_out(revision: str) -> Iterator[Path]:
    """The code of another commit, in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="bandops-other-") as folder:
        path = Path(folder) / "code"
        subprocess.run(
            ["git", "worktree", "add", "--quiet", "--detach", str(path), revision],
            cwd=ROOT,
            check=True,
        )
        try:
            yield path
        finally:
            subprocess.run(["git", "worktree", "remove", "--force", str(path)], cwd=ROOT)


def main(arguments: list[str]) -> int:
    """Exit code 1 where anything was answered wrongly or grows too steeply."""
    parser = argparse.ArgumentParser(prog="python -m tests.load", description=__doc__)
    parser.add_argument("--phones", type=int, default=PHONES)
    parser.add_argument("--seconds", type=float, default=SECONDS)
    parser.add_argument("--against", help="another commit, such as HEAD~1")
    options = parser.parse_args(arguments)
    print("Load on this code (the demo band, two web processes, this machine alone):", flush=True)
    with site_of(ROOT) as site:
        ours = measured(site, options.phones, options.seconds)
        tell(ours)
        print("The band's size:", *figures(site), sep="\n  ", flush=True)
        print("Growth, bands of 1,000 and 5,000 members:", flush=True)
        done = subprocess.run(
            [sys.executable, "manage.py", "shell", "-c", "import tests.load.growing"],
            cwd=ROOT,
            env=site.variables,
            capture_output=True,
            text=True,
        )
        print(done.stdout or done.stderr, flush=True)
    wrong = sum(len(load.wrong) for load, _ in ours.values())
    if options.against:
        print(f"The same with the code of {options.against}:", flush=True)
        with checked_out(options.against) as code, site_of(code) as other:
            theirs = measured(other, options.phones, options.seconds)
        tell(theirs)
        for name, (load, _) in ours.items():
            print(f"  {name:32} {load.at(0.5) / theirs[name][0].at(0.5):.2f} times as long (p50)")
    return 1 if wrong or done.returncode or "TOO STEEP" in done.stdout else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
