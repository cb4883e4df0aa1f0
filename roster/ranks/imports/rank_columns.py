"""Columns of the import of ranks and spots."""

from __future__ import annotations

from bandops.lib.imports.holding import looks_like_name
from bandops.lib.imports.plan import Column
from roster.people.lookup import PART_HEADS, looks_like_part
from roster.ranks.lookup import looks_like_spot

COLUMNS = (
    Column(
        "spot",
        "spot",
        "rank and number, such as 4-11, or as the band labels it: A1, 7B; or the number alone "
        "beside a rank column",
        True,
        ("spot label", "spot number", "number", "place", "pos", "position", "spot no", "no"),
        looks_like_spot,
    ),
    Column(
        "rank", "rank", "the rank's label; taken from the spot when empty", False, ("line", "row")
    ),
    Column("label", "label", "another label for the spot, as the band writes it; stays when empty"),
    Column(
        "part",
        "part",
        "code or name of the part the spot needs; when empty as it is, else what "
        "its holder mainly plays",
        False,
        PART_HEADS,
        looks_like_part,
    ),
    Column("weight", "weight", "1 to 5: how much an open spot here hurts; 1 when empty"),
    Column(
        "needs_experience",
        "needs experience",
        "yes: only experienced marchers",
        False,
        ("experienced", "exp", "veteran"),
    ),
    Column(
        "holder",
        "holder",
        "student number, email or name; empty: nobody",
        False,
        ("member", "name", "marcher", "student number", "id", "student id", "holder name", "who"),
        looks_like_name,
    ),
    Column(
        "role",
        "role",
        "leader or assistant leader of the rank",
        False,
        ("leader", "captain", "job", "title", "duty", "leadership", "rank role"),
    ),
)
