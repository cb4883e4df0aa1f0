"""Import of alternates: rank, part, and standing in their pool."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.imports.holding import looks_like_name
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Column, Mapped, Plan
from roster.people.lookup import PART_HEADS, looks_like_part
from roster.people.models import Season
from roster.ranks.imports.alternate_rows import AlternatesPlanner
from roster.ranks.lookup import SpotIndex

COLUMNS = (
    Column(
        "member",
        "member",
        "student number, email or name",
        True,
        ("name", "alternate", "student number", "id", "student id", "who", "student", "marcher"),
        looks_like_name,
    ),
    Column(
        "rank",
        "rank",
        "label of the rank; with a standing, the one that needs the part when there is no column",
        True,
        ("line", "row"),
        unless=("standing",),
    ),
    Column(
        "part",
        "part",
        "code or name; their main part when empty",
        False,
        PART_HEADS,
        looks_like_part,
    ),
    Column(
        "standing",
        "standing",
        "1, 2, … among the alternates of the part in their pool; in file order when empty",
        False,
        (
            "order",
            "number",
            "alt",
            "alt no",
            "alt number",
            "alternate no",
            "alternate number",
            "no",
            "spot",
            "position",
            "pos",
        ),
    ),
)


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Alternates get the file's standings; whom it does not name keeps theirs or moves back."""
    spots = SpotIndex(season, mapped.words)
    return AlternatesPlanner(season, mapped.words, spots.rank).plan(mapped)


KIND = register(
    ImportKind(
        "alternates",
        "Alternates",
        "One row per alternate: a member without a spot of their own.",
        COLUMNS,
        plan,
        order=4,
        together=("rank", "part"),
    )
)
