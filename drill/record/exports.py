"""Who really marched as tables."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.record.models import Turn
from drill.record.services.turn_book import shares, with_names
from roster.people.models import Season
from roster.people.wording import who


def _shares(season: Season) -> tuple[Sequence[str], Rows]:
    headers = ("member", "name", "marched", "stood by", "offered", "chances", "percent")
    return headers, [
        (who(m), m.name, c.marched, c.stood_by, c.offered, c.available, c.percent)
        for m, c in shares(season)
    ]


def _turn_book(season: Season) -> tuple[Sequence[str], Rows]:
    headers = (
        "event",
        "date",
        "segment",
        "member",
        "spot",
        "outcome",
        "first outcome",
        "first spot",
        "why corrected",
    )
    turns = with_names(Turn.objects.filter(book__event__season=season)).order_by(
        "book__event__date", "book_id", "segment__order", "member__person__sort_key", "id"
    )
    return headers, [
        (
            t.book.event.name,
            t.book.event.date,
            t.segment.name,
            who(t.member),
            t.spot or "",
            t.outcome,
            t.first_outcome,
            t.first_spot or "",
            t.note,
        )
        for t in turns
    ]


add_export(Export("turns", "Turns, with everybody's share", _shares, 12))
add_export(Export("turn-book", "The turn book, line by line", _turn_book, 13))
