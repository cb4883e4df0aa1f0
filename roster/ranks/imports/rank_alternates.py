"""The alternates among the rows of a file of ranks and spots: “Alt 1” where a spot would stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from bandops.lib.imports.plan import Mapped, Record
from roster.ranks.imports import alternates
from roster.ranks.imports.holder_cells import read_holder
from roster.ranks.imports.standings import alternate_named, is_short_alternate
from roster.ranks.lookup import SpotIndex, rank_words, spot_words

KEYS = {"holder": "member", "rank": "rank", "part": "part", "spot": "standing"}
"""column of the import of ranks -> the same of that of alternates"""


def alternates_among(mapped: Mapped, spots: SpotIndex) -> set[int]:
    """The numbers in the table of the rows that name alternates (a grid has several a row)."""
    records = list(mapped.records())
    plain_ranks = {
        rank_words(r["rank"]) for r in records if r["spot"] and not is_short_alternate(r["spot"])
    }
    return {at for at, record in enumerate(records) if _is_one(record, spots, plain_ranks)}


def _is_one(record: Record, spots: SpotIndex, plain_ranks: set[tuple[str, ...]]) -> bool:
    """A2 is an alternate beside a rank that is not A and writes its spots otherwise."""
    text, rank = record["spot"], rank_words(record["rank"])
    if spot_words(text) in spots.by_words:
        return False
    short = is_short_alternate(text) and rank in plain_ranks and rank not in ((), ("a",))
    return short or alternate_named(text) is not None


def as_spots(mapped: Mapped, at: set[int]) -> Mapped:
    """The table without its rows of alternates."""
    return _chosen(mapped, (n for n in range(len(mapped.table.rows)) if n not in at))


def as_alternates(mapped: Mapped, at: set[int]) -> Mapped:
    """The rows of alternates that name somebody, as the import of alternates reads them."""
    named = (n for n in sorted(at) if _holder(mapped, n))
    mapping = {KEYS[key]: place for key, place in mapped.mapping.items() if key in KEYS}
    return replace(_chosen(mapped, named), columns=alternates.COLUMNS, mapping=mapping)


def _holder(mapped: Mapped, at: int) -> str:
    return read_holder(Record(mapped, mapped.table.rows[at])["holder"]).name


def _chosen(mapped: Mapped, at: Iterable[int]) -> Mapped:
    rows = tuple(mapped.table.rows[n] for n in at)
    return replace(mapped, table=replace(mapped.table, rows=rows))
