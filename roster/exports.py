"""Tables that go out in the columns that come in; drill adds its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from roster import queries
from roster.models import Member, Season

Rows = list[Sequence[object]]


@dataclass(frozen=True)
class Export:
    """A table by name; looking at what ``private`` names of ``table`` is noted in the audit."""

    name: str
    title: str
    rows: Callable[[Season], tuple[Sequence[str], Rows]]
    private: str = ""
    table: str = ""


_exports: dict[str, Export] = {}


def add_export(export: Export) -> None:
    """Make a table known to the export page."""
    _exports[export.name] = export


def all_exports() -> list[Export]:
    """All tables, in the order they were added."""
    return list(_exports.values())


def export_of(name: str) -> Export | None:
    """The table, or None."""
    return _exports.get(name)


def yes_no(value: bool) -> str:
    """As the import reads it."""
    return "yes" if value else "no"


def _instruments(season: Season) -> tuple[Sequence[str], Rows]:
    rows: Rows = [
        (i.name, p.name, p.code, i.school_stock)
        for i in queries.instruments(season)
        for p in i.parts.all()
    ]
    return ("instrument", "part", "code", "school instruments"), rows


MEMBER_HEADERS = (
    "student number",
    "legal name",
    "used name",
    "pronunciation",
    "pronouns",
    "email",
    "phone",
    "years marched",
    "main part",
    "also plays",
    "own instruments",
    "status",
    "listed",
    "cleared",
    "eligible",
)


def _members(season: Season) -> tuple[Sequence[str], Rows]:
    return MEMBER_HEADERS, [_member_row(m) for m in queries.members(season)]


def _member_row(member: Member) -> Sequence[object]:
    person, skills = member.person, member.skills  # type: ignore[attr-defined]
    return (
        person.student_number,
        person.legal_name,
        person.used_name,
        person.pronunciation,
        person.pronouns,
        person.email,
        member.phone,
        member.years_marched,
        next((q.part.code for q in skills if q.main), ""),
        "; ".join(q.part.code for q in skills if not q.main),
        "; ".join(sorted(_own(member))),
        member.status,
        yes_no(person.listed),
        _standing(member.cleared, member.cleared_until),
        _standing(member.eligible, member.eligible_until),
    )


def _own(member: Member) -> set[str]:
    """Instruments of which all their parts are played on their own, else the parts' codes."""
    skills = member.skills  # type: ignore[attr-defined]
    lent = {q.part.instrument_id for q in skills if not q.own_instrument}
    return {
        q.part.code if q.part.instrument_id in lent else q.part.instrument.name
        for q in skills
        if q.own_instrument
    }


def _standing(value: str, until: object) -> str:
    return f"until {until}" if value == "until" else value


def who(member: Member) -> str:
    """What the imports find the member by."""
    return member.person.student_number or member.person.email or member.name


def _ranks(season: Season) -> tuple[Sequence[str], Rows]:
    leaders = {r.pk: (r.leader_id, r.second_id) for r in queries.ranks(season)}
    rows: Rows = []
    for spot in queries.spots_with_holders(season):
        holder = spot.open_holdings[0].member if spot.open_holdings else None  # type: ignore[attr-defined]
        leader, second = leaders[spot.rank_id]
        role = ""
        if holder is not None:
            role = "leader" if holder.pk == leader else "second" if holder.pk == second else ""
        rows.append(
            (
                spot.rank.label,
                spot.label,
                spot.part.code,
                spot.weight,
                yes_no(spot.needs_experience),
                who(holder) if holder else "",
                role,
            )
        )
    return ("rank", "spot", "part", "weight", "needs experience", "holder", "role"), rows


def _alternates(season: Season) -> tuple[Sequence[str], Rows]:
    rows: Rows = [
        (who(p.member), p.rank.label, p.part.code, p.standing) for p in queries.alternates(season)
    ]
    return ("member", "rank", "part", "standing"), rows


add_export(Export("instruments", "Instruments and parts", _instruments))
add_export(
    Export("members", "Members", _members, "clearance and eligibility", Member._meta.db_table)
)
add_export(Export("ranks", "Ranks and spots", _ranks))
add_export(Export("alternates", "Alternates", _alternates))
