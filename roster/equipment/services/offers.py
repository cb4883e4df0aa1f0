"""What a fitting proposes, in the words of its pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bandops.lib.keys import key
from roster.equipment import queries
from roster.equipment.core.fitting import Fitting, Unfitted, fit_all
from roster.equipment.core.moving import choices, moves_for
from roster.equipment.enums import ItemState
from roster.equipment.models import Issue, Item, Kind
from roster.equipment.services.fitting import Built, People, build, needing
from roster.equipment.services.remarks import to_alter
from roster.equipment.wording import buy_words, fit_words, misses_words, size_of
from roster.people import queries as people_queries
from roster.people.models import Member

OFFERED = 5


@dataclass(frozen=True)
class Proposed:
    """A member with the piece proposed, and how it fits."""

    member: Member
    item: Item
    size: str
    words: str


@dataclass(frozen=True)
class Lacking:
    """A member whom nothing fits: what is missing, what to buy, and the nearest piece."""

    member: Member
    unmeasured: str
    buy: str
    nearest: str


def proposals(built: Built, fitted: Fitting) -> list[Proposed]:
    rows = [
        Proposed(
            built.members[g.wearer],
            built.items[g.piece],
            size_of(built.items[g.piece]),
            fit_words(g.fit, built.figures),
        )
        for g in fitted.given
    ]
    return sorted(rows, key=lambda r: (r.member.person.sort_key, r.member.pk))


def lacking_of(built: Built, unfitted: Unfitted) -> Lacking:
    near = unfitted.nearest
    words = ""
    if near is not None:
        item = built.items[near.piece]
        misses = misses_words(near.misses, built.figures) or "would fit, but goes to another"
        words = f"{item} ({size_of(item)}): {misses}"
    return Lacking(
        built.members[unfitted.wearer],
        ", ".join(built.figures[f].get_measure_display() for f in unfitted.unmeasured),
        buy_words(unfitted, built.figures),
        words,
    )


@dataclass(frozen=True)
class Offer:
    """A kind on the page of one person: what they have, or pieces to try, the best first."""

    kind: Kind
    has: tuple[tuple[Item, str, str], ...]
    """their pieces: the item, its size, and what a tailor has to do to it"""
    pieces: tuple[tuple[Item, str, str, bool], ...]
    """item, its size, how it fits, whether somebody else then goes without"""
    lacking: Lacking | None
    moves: tuple[str, ...]


def offers_for(member: Member) -> list[Offer]:
    """For each kind the member needs or has: what they have, else the best piece now and the next
    best ones."""
    season = member.season
    members = list(people_queries.active_members(season))
    people = People(members)
    has: dict[int, list[Issue]] = {}
    for issue in queries.issues_of(member):
        has.setdefault(issue.item.kind_id, []).append(issue)
    offers = []
    for kind in queries.kinds():
        who = needing(season, kind, members)
        needs = any(m.pk == member.pk for m in who)
        if kind.pk in has:
            theirs = tuple((i.item, size_of(i.item), _to_alter(i, member)) for i in has[kind.pk])
            offers.append(Offer(kind, theirs, (), None, ()))
        elif needs:
            offers.append(offer_of(build(kind, people, who), member, people, who))
    return offers


def _to_alter(issue: Issue, member: Member) -> str:
    """What is to be altered, unless it is at work already."""
    return to_alter(issue.item, member) if issue.item.state == ItemState.ISSUED else ""


def offer_of(built: Built, member: Member, people: People, who: Sequence[Member]) -> Offer:
    name = key(member.pk)
    fitted = fit_all(built.problem)
    found = choices(built.problem, fitted, name)
    pieces = tuple(
        (
            built.items[c.piece],
            size_of(built.items[c.piece]),
            fit_words(c.fit, built.figures),
            c.costs_another,
        )
        for c in found[:OFFERED]
    )
    if pieces:
        return Offer(built.kind, (), pieces, None, ())
    lacking = next((lacking_of(built, u) for u in fitted.unfitted if u.wearer == name), None)
    return Offer(built.kind, (), (), lacking, _moves(built, member, people, who))


def _moves(built: Built, member: Member, people: People, who: Sequence[Member]) -> tuple[str, ...]:
    """The moves of pieces already handed out that free one."""
    issued = {
        i.item_id: i
        for i in queries.open_issues().filter(item__kind=built.kind, item__state=ItemState.ISSUED)
    }
    items = [*queries.items().filter(pk__in=issued), *built.items.values()]
    every = build(built.kind, people, who, items=items, every=True)
    by_person = {m.person_id: key(m.pk) for m in who}
    given = {
        by_person[i.member.person_id]: key(pk)
        for pk, i in issued.items()
        if i.member.person_id in by_person
    }
    problem = every.problem
    theirs = {key(pk) for pk, i in issued.items() if i.member.person_id not in by_person}
    free = tuple(p for p in problem.pieces if p.key not in theirs)
    found = moves_for(replace(problem, pieces=free), given, key(member.pk))
    if found is None:
        return ()
    said = []
    for move in found:
        item = every.items[move.piece]
        verb = "change to" if move.source else "take"
        said.append(f"{every.members[move.wearer]}: {verb} {item} ({size_of(item)})")
    return tuple(said)
