"""Columns of the import of absences."""

from __future__ import annotations

from bandops.lib.imports.holding import looks_like_day, looks_like_name
from bandops.lib.imports.plan import Column
from bandops.lib.names import plain
from drill.absences.core.phrases.reading import tells_of_absence
from drill.absences.enums import AbsenceKind, ReasonCategory

CATEGORIES = {
    "illness": "health",
    "injury": "health",
    "sick": "health",
    "medical": "health",
    "exam": "class",
}


def looks_like_category(text: str) -> bool:
    """One of the categories, or a word that certainly means one."""
    return text.lower() in ReasonCategory.values or text.lower() in CATEGORIES


def looks_like_kind(text: str) -> bool:
    """A kind of absence by its word or label."""
    return any(plain(text) in (plain(kind.value), plain(kind.label)) for kind in AbsenceKind)


COLUMNS = (
    Column(
        "member",
        "member",
        "student number, email or name",
        True,
        ("name", "who", "student number", "student", "marcher", "student id", "id"),
        looks_like_name,
        anywhere=True,
    ),
    Column(
        "event",
        "event",
        "its name, with its day in “from” where several have the name; or give dates",
        False,
        ("game",),
    ),
    Column("segment", "segment", "a segment of the event, or several with commas; all when empty"),
    Column(
        "from",
        "from",
        "first day",
        False,
        (
            "from date",
            "date",
            "dates",
            "start",
            "day",
            "days",
            "first day",
            "start date",
            "which date",
            "which day",
        ),
        looks_like_day,
    ),
    Column(
        "until",
        "until",
        "last day, included; open when empty",
        False,
        ("through", "thru", "to", "until date", "end", "last day", "end date"),
    ),
    Column(
        "kind",
        "kind",
        f"{', '.join(AbsenceKind.values[:-1])} or {AbsenceKind.values[-1]}; out when empty",
        False,
        ("status",),
        looks_like_kind,
    ),
    Column("late_until", "late until", "19:30 or 7:30 pm", False, ("arrives",)),
    Column("leaves_at", "leaves at", "20:30 or 8:30 pm", False, ("leaves",)),
    Column("chance", "chance", "chance of being out, 0 to 1 or in %; for doubtful"),
    Column(
        "category",
        "category",
        "health, class, family, travel, conduct, other; for staff only, never a diagnosis",
        False,
        ("reason",),
        looks_like_category,
    ),
    Column("review_date", "review date", "when to look again", False, ("review",)),
    Column(
        "written",
        "what they wrote",
        "free text such as “out thru Thurs” or “late 4:30 PM”, to check row by row; never saved",
        False,
        (
            "free text",
            "wrote",
            "they wrote",
            "what they said",
            "said",
            "text",
            "message",
            "when",
            "availability",
            "absence",
        ),
        tells_of_absence,
        anywhere=True,
    ),
    Column("state", "state", "reported, confirmed, declined or withdrawn; confirmed when empty"),
)
COLUMN_OF = {"from_date": "from", "until_date": "until"}
"""of fields that are called otherwise in files"""
