"""What the rules propose from the figures: offers with their reasons, and what blocks them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from roster.people.models import Part
from roster.tryouts.core.selection import Selection, Tie
from roster.tryouts.enums import OfferKind
from roster.tryouts.models import Candidate, Correction, Offer, Tryout
from roster.tryouts.services.checking import check_sheets
from roster.tryouts.services.figures import Figures
from roster.tryouts.wording import numbers_words, ordinal, ties_words


@dataclass(frozen=True)
class Wanted:
    """What somebody is to be offered, and why."""

    candidate: Candidate
    kind: str
    part: Part | None
    standing: int | None
    reason: str
    place: int = 0
    """their place among those who compete for the part"""
    mark: str = ""
    """the shape of where they stand to the cut"""

    @property
    def words(self) -> str:
        """As an offer says it."""
        return Offer(kind=self.kind, part=self.part, standing=self.standing).words


def wanted_by(found: Figures, selection: Selection | None = None) -> list[Wanted]:
    """What the rules offer everybody who tries out, each with its reason."""
    chosen = selection or found.selection
    standing = {
        key: (part, n) for part, keys in chosen.alternates.items() for n, key in enumerate(keys, 1)
    }
    parts = {q.part_id: q.part for q in found.quotas}
    result = []
    for line in found.lines:
        candidate = line.candidate
        if candidate.withdrawn_at is not None:
            continue
        if candidate.pk in chosen.places:
            part = parts[chosen.places[candidate.pk]]
            text = _reason(found, chosen, candidate, part, None)
            place = chosen.places_of.get((candidate.pk, part.pk), 0)
            result.append(Wanted(candidate, OfferKind.SPOT, part, None, text, place, line.mark))
        elif candidate.pk in standing:
            pk, n = standing[candidate.pk]
            text = _reason(found, chosen, candidate, parts[pk], n)
            wanted = Wanted(candidate, OfferKind.ALTERNATE, parts[pk], n, text, n, line.mark)
            result.append(wanted)
        else:
            text = _reason(found, chosen, candidate, None, None)
            result.append(Wanted(candidate, OfferKind.NONE, None, None, text))
    return result


def _reason(
    found: Figures, chosen: Selection, candidate: Candidate, part: Part | None, standing: int | None
) -> str:
    """'17th for 16 spots in alto; 12th for 20 spots in clarinet.'"""
    line = found.by_candidate[candidate.pk]
    if line.looks < found.tryout.minimum_looks:
        return f"{line.looks} looks, {found.tryout.minimum_looks} needed."
    figure = line.deciding(found.tryout)
    if figure is not None and found.lowest is not None and figure < found.lowest:
        return f"{figure:.1f} is below the lowest figure for an offer."
    trade = next((t for t in chosen.trades if t.key == candidate.pk), None)
    said = []
    targets = {q.part: q for q in found.core_quotas}
    for wish in candidate.wanted:  # type: ignore[attr-defined]
        quota, place = targets.get(wish.part_id), chosen.places_of.get((candidate.pk, wish.part_id))
        if quota is None or not quota.target:
            said.append(f"no spots in {wish.part}")
        elif place is not None:
            said.append(f"{ordinal(place)} for {quota.target} spots in {wish.part}")
        if part is not None and wish.part_id == part.pk:
            break
    text = "; ".join(said)
    if standing is not None:
        text += f"; alternate {standing} for {part}"
    if trade is not None and trade.to is not None:
        text += f"; moved to {part} so that it reaches its minimum"
    return f"{text[:1].upper()}{text[1:]}."[:300]


def blockers(tryout: Tryout, found: Figures) -> list[str]:
    """What stands in the way of a decision, in sentences."""
    texts = []
    grave = check_sheets(tryout, found.judged).grave
    if grave:
        what = "thing" if len(grave) == 1 else "things"
        texts.append(f"The sheet check found {len(grave)} {what} to settle first.")
    waiting = Correction.objects.filter(tryout=tryout, answered_at=None).count()
    if waiting:
        what = "correction waits" if waiting == 1 else "corrections wait"
        texts.append(f"{waiting} {what} for a second person.")
    if found.fit is None:
        texts.append("The figures cannot be compared: see Figures.")
    texts += [tie_text(found, tie) for tie in found.selection.ties]
    return texts


def tie_text(found: Figures, tie: Tie) -> str:
    """What is tied at which line, and what may settle it."""
    people = {c.pk: c.called for c in found.judged.candidates}
    quota = next(q for q in found.quotas if q.part_id == tie.part)
    order = ties_words(found.tie_criteria)
    if not tie.outside:
        equals = numbers_words([people[k] for k in tie.inside])
        return (
            f"Alternates for {quota.part} stand equal: {equals}. {order}: give them another look."
        )
    all_in = quota.target + len(tie.outside)
    more = (
        f" or, since up to {quota.maximum} fit, fill {all_in} spots"
        if not tie.alternates and all_in <= quota.maximum
        else ""
    )
    equals = numbers_words([people[k] for k in (*tie.inside, *tie.outside)])
    line = "last alternate's place" if tie.alternates else "last spot"
    return (
        f"A tie at the {line} in {quota.part}: {equals} stand equal. "
        f"{order}: give them another look{more}. Names and numbers never decide."
    )


def basis_of(found: Figures) -> dict[str, Any]:
    """The rules and figures that a decision is made on, as they are kept with it."""
    tryout = found.tryout
    return {
        "deciding": tryout.deciding,
        "drop_extremes": tryout.drop_extremes,
        "sessions_differ": tryout.sessions_differ,
        "minimum_looks": tryout.minimum_looks,
        "standard": str(tryout.standard) if tryout.standard is not None else None,
        "ties": [str(c) for c in found.tie_criteria],
        "quotas": {
            str(q.part_id): [q.minimum, q.target, q.maximum, q.alternates] for q in found.quotas
        },
        "figures": {
            str(line.candidate.pk): {
                "looks": line.looks,
                "raw": _kept(line.raw),
                "adjusted": _kept(line.adjusted),
                "half": _kept(line.half),
                "chance": _kept(line.chance),
                "group": str(line.group) if line.group else "",
            }
            for line in found.lines
        },
    }


def _kept(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


@dataclass(frozen=True)
class Change:
    """One candidate's offer before and after, in words; ``before`` empty for a new one."""

    candidate: Candidate
    before: str
    after: str


def changes_between(
    before: Sequence[Offer] | Sequence[Wanted], after: Sequence[Wanted]
) -> list[Change]:
    """Whoever would have to be told something else."""
    was = {it.candidate.pk: it.words for it in before}
    found = [Change(it.candidate, was.get(it.candidate.pk, ""), it.words) for it in after]
    return [change for change in found if change.before != change.after]
