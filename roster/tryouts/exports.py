"""Candidates and marks as tables, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export, yes_no
from roster.people.models import Season
from roster.tryouts import queries
from roster.tryouts.models import Candidate, ItemReady, Mark
from roster.tryouts.services.marking import mark_words
from roster.tryouts.services.marks import counting, marks_of

HEADERS = (
    "student number",
    "legal name",
    "used name",
    "email",
    "years marched",
    "first choice",
    "other choices",
    "may lead",
    "height",
    "has",
)


def _candidates(season: Season) -> tuple[Sequence[str], Rows]:
    tryout = queries.tryouts(season).first()
    if tryout is None:
        return HEADERS, []
    has: dict[int, list[str]] = {}
    for ready in ItemReady.objects.filter(candidate__tryout=tryout).select_related("item"):
        has.setdefault(ready.candidate_id, []).append(ready.item.name)
    rows: Rows = []
    for c in queries.trying(tryout):
        codes = [w.part.code for w in c.wanted]  # type: ignore[attr-defined]
        rows.append(
            (
                c.person.student_number,
                c.person.legal_name,
                c.person.used_name,
                c.person.email,
                c.years_marched,
                codes[0] if codes else "",
                "; ".join(codes[1:]),
                yes_no(c.may_lead),
                c.height,
                "; ".join(has.get(c.pk, [])),
            )
        )
    return HEADERS, rows


def _scores(season: Season) -> tuple[Sequence[str], Rows]:
    """By number, as evaluators know them."""
    headers = ("candidate number", "evaluator", "session", "criterion", "mark")
    tryout = queries.tryouts(season).first()
    if tryout is None:
        return headers, []
    rows = marks_of(tryout).select_related("candidate", "session", "criterion")
    return headers, [
        (
            it.mark.candidate.number,
            it.mark.panelist.code,
            it.mark.session.name,
            it.mark.criterion.name,
            mark_words(it.value),
        )
        for it in counting(rows)
    ]


add_export(
    Export("candidates", "Candidates", _candidates, 6, "candidates", Candidate._meta.db_table)
)
add_export(Export("scores", "Score sheets", _scores, 7, "tryout marks", Mark._meta.db_table))
