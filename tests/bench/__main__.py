"""``python -m tests.bench`` prints one line a ratio; BENCH_JSON names a file to write them to.

``--cap SECONDS`` bounds what each slow peer may spend on one problem (900 by default).
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from itertools import chain
from pathlib import Path

from tests.bench.coverages import coverage_ratios
from tests.bench.fittings import fitting_ratios
from tests.bench.lineups import lineup_ratios
from tests.bench.moves import move_ratios
from tests.bench.page_costs import page_ratios
from tests.bench.tryouts import tryout_ratios


def main() -> int:
    """Measure, print as results come, and write them once all are there; 1 where lines miss
    their goals by more than the noise."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--cap", type=float, default=900.0, help="seconds a slow peer may spend")
    cap = parser.parse_args().cap
    ratios = []
    quick = chain(page_ratios(), move_ratios(), fitting_ratios(), coverage_ratios())
    for ratio in chain(quick, tryout_ratios(cap), lineup_ratios(cap)):
        ratios.append(ratio)
        print(ratio.line(), flush=True)
    path = os.environ.get("BENCH_JSON")
    if path:
        rows = [ratio.as_json() for ratio in ratios]
        Path(path).write_text(json.dumps(rows, indent=2) + "\n", encoding="utf-8")

    missed = [ratio for ratio in ratios if ratio.missed]
    if missed:
        print("\nThese miss their goals:")
        print("\n".join(f"- {ratio.name} {ratio.peer}: {ratio.value:.3g}" for ratio in missed))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
