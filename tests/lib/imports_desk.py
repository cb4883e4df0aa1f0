"""One kind of import, as the tests of every kind use it."""

from __future__ import annotations

from typing import Any

from tests.factories import Band, Cast
from tests.lib.imports_help import accept_file, all_same, csv_file, faults, plan_of


class Desk:
    """One kind of import for the small band, by staff."""

    def __init__(self, band: Band, cast: Cast, kind: str, *headers: str) -> None:
        self.band, self.cast, self.kind, self.headers = band, cast, kind, headers

    def file(self, *rows: list[object]) -> bytes:
        return csv_file(self.headers, *rows)

    def plan(self, *rows: list[object]) -> Any:
        return plan_of(self.kind, self.file(*rows), self.band.season, self.cast.staff)

    def accept(self, *rows: list[object]) -> Any:
        batch = accept_file(self.kind, self.file(*rows), self.band.season, self.cast.staff)
        assert all_same(self.plan(*rows)), self.plan(*rows)
        return batch

    def faults(self, *rows: list[object]) -> list[tuple[int, str]]:
        return faults(self.plan(*rows))


def changes(plan: Any) -> list[tuple[str, str, str]]:
    return [(c.name, c.before, c.after) for line in plan.lines for c in line.changes]
