"""Ranks, spots and alternates as tables, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export, yes_no
from roster.people.models import Season
from roster.people.wording import who
from roster.ranks import queries


def _ranks(season: Season) -> tuple[Sequence[str], Rows]:
    leaders = {r.pk: (r.leader_id, r.assistant_leader_id) for r in queries.ranks(season)}
    rows: Rows = []
    for spot in queries.spots_with_holders(season):
        holder = spot.open_holdings[0].member if spot.open_holdings else None  # type: ignore[attr-defined]
        leader, assistant = leaders[spot.rank_id]
        role = ""
        if holder is not None:
            role = ""
            if holder.pk in (leader, assistant):
                role = "leader" if holder.pk == leader else "assistant leader"
        rows.append(
            (
                spot.rank.label,
                spot.label,
                spot.own_label,
                spot.part.code,
                spot.weight,
                yes_no(spot.needs_experience),
                who(holder) if holder else "",
                role,
            )
        )
    return ("rank", "spot", "label", "part", "weight", "needs experience", "holder", "role"), rows


def _alternates(season: Season) -> tuple[Sequence[str], Rows]:
    rows: Rows = [
        (who(p.member), p.rank.label, p.part.code, p.standing) for p in queries.alternates(season)
    ]
    return ("member", "rank", "part", "standing"), rows


add_export(Export("ranks", "Ranks and spots", _ranks, 3))
add_export(Export("alternates", "Alternates", _alternates, 4))
