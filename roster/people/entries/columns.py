"""The columns of an import of members, and how long their texts may be."""

from __future__ import annotations

from bandops.lib.imports.holding import (
    looks_like_email,
    looks_like_name,
    looks_like_phone,
    looks_like_student_number,
)
from bandops.lib.imports.plan import Column
from roster.people.lookup import PART_HEADS, looks_like_part
from roster.people.models import Member, Person

COLUMNS = (
    Column(
        "student_number",
        "student number",
        "kept exactly as written, leading zeros too",
        False,
        (
            "number",
            "student id",
            "id",
            "student no",
            "id number",
            "sid",
            "id no",
            "student id number",
        ),
        looks_like_student_number,
    ),
    Column(
        "legal_name",
        "legal name",
        "needed, or first and last name in two columns; in either order, a nickname in quotes",
        False,
        ("name", "full name", "student", "student name", "member", "member name", "marcher"),
        looks_like_name,
    ),
    Column(
        "first_name",
        "first name",
        "with a last name, instead of the legal name",
        False,
        ("first", "given name", "firstname", "f name"),
    ),
    Column(
        "last_name",
        "last name",
        "",
        False,
        ("last", "family name", "surname", "lastname", "l name"),
    ),
    Column(
        "used_name",
        "used name",
        "the name to call and print",
        False,
        ("preferred name", "preferred first name", "goes by", "nickname"),
    ),
    Column("pronunciation", "pronunciation", "", False, ("how to say it", "say")),
    Column("pronouns", "pronouns", ""),
    Column(
        "email",
        "email",
        "where invitations and notices go",
        False,
        ("e-mail", "mail", "email address", "e mail address", "school email", "student email"),
        looks_like_email,
    ),
    Column(
        "phone",
        "phone",
        "",
        False,
        ("cell", "cell phone", "mobile", "phone number", "cell no", "cell number", "tel", "ph"),
        looks_like_phone,
    ),
    Column(
        "years_marched",
        "years marched",
        "0 for new members; Fr, So, Jr, Sr count as 0 to 3",
        False,
        ("years", "year in band", "yrs", "yr", "years in band", "year", "class", "yrs marched"),
    ),
    Column(
        "main_part",
        "main part",
        "code or name of a part",
        True,
        ("part", "plays", "main", "section", *PART_HEADS),
        looks_like_part,
    ),
    Column(
        "doubles",
        "also plays",
        "more parts, separated by semicolons",
        False,
        ("doubles", "doubles on", "second instrument", "2nd instrument", "2nd instr"),
    ),
    Column(
        "own_instruments",
        "own instruments",
        "instruments they bring themselves",
        False,
        ("owns", "own instrument"),
    ),
    Column("status", "status", "active, on leave or left"),
    Column("listed", "listed", "no: not on public lists"),
    Column("emergency_contact", "emergency contact", "for staff only", False, ("emergency",)),
    Column(
        "cleared",
        "cleared",
        "yes, no, or until a date (that day included); never why; empty changes nothing",
    ),
    Column(
        "eligible",
        "eligible",
        "yes, no, or until a date (that day included); never why; empty changes nothing",
    ),
)
PERSON_TEXTS = ("legal_name", "used_name", "pronunciation", "pronouns", "email", "student_number")
MEMBER_TEXTS = ("phone", "emergency_contact")
LONGEST = {
    field.name: field.max_length
    for model, names in ((Person, PERSON_TEXTS), (Member, MEMBER_TEXTS))
    for field in model._meta.fields
    if field.name in names and field.max_length is not None
}
"""letters that each text may have"""
SEARCHED = 500
"""letters of the search column, in which ligatures and the like are written out"""
OWN_ALL = frozenset(["yes", "own"])
