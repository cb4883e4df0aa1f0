"""What should be said when a piece is handed out: it is a second one, or it does not fit."""

from __future__ import annotations

from roster.equipment import queries
from roster.equipment.core.fitting import fit_of, nearest
from roster.equipment.models import Issue, Item
from roster.equipment.services.fitting import Built, People, build
from roster.equipment.wording import altered, misses_words
from roster.people.models import Member


def remarks(issue: Issue) -> list[str]:
    """'Quinn has H-5 of this kind, too.', 'It does not fit: chest 2 in too small.'"""
    item, member = issue.item, issue.member
    others = queries.issues_of(member).filter(item__kind=item.kind_id).exclude(item=item)
    said = [f"{member} has {other.item} of this kind, too." for other in others]
    fit = fit_words_of(item, member)
    return [*said, f"It does not fit as it is: {fit}."] if fit else said


def fit_words_of(item: Item, member: Member) -> str:
    """What is wrong with a piece for a member: what a tailor has to do, else how it misses; empty
    where it fits, and where nobody can tell."""
    built = _alone(item, member)
    wearer, piece = built.problem.wearers[0], built.problem.pieces[0]
    if not built.figures or any(k not in wearer.windows for k in built.figures):
        return ""
    fit = fit_of(built.problem, wearer, piece)
    if fit is not None:
        return altered(fit.alterations, built.figures)
    found = nearest(built.problem, wearer, [piece])
    return misses_words(found.misses, built.figures) if found is not None else ""


def to_alter(item: Item, member: Member) -> str:
    """What a tailor has to do to the piece for the member; empty for nothing."""
    built = _alone(item, member)
    fit = fit_of(built.problem, built.problem.wearers[0], built.problem.pieces[0])
    return altered(fit.alterations, built.figures) if fit is not None else ""


def _alone(item: Item, member: Member) -> Built:
    return build(queries.kinds().get(pk=item.kind_id), People([member]), items=[item], every=True)
