"""Instruments and members as tables, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export, yes_no
from roster.people import queries
from roster.people.models import Member, Season


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
    return MEMBER_HEADERS, [_member_row(m) for m in queries.present(season)]


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


add_export(Export("instruments", "Instruments and parts", _instruments, 1))
add_export(
    Export("members", "Members", _members, 2, "clearance and eligibility", Member._meta.db_table)
)
