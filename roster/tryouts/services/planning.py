"""The evaluator plan: evaluators, groups of candidates, and who marks which group."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import Role
from roster.people.models import Part, RoleGrant
from roster.tryouts import queries
from roster.tryouts.core import plan as core
from roster.tryouts.models import (
    Candidate,
    GroupEvaluator,
    GroupPlace,
    Panelist,
    Tryout,
    TryoutGroup,
    TryoutSession,
)
from roster.tryouts.services.setting_up import locked


def add_panelists(*, actor: User, tryout: Tryout) -> int:
    """All accounts that are evaluators in the season, each with the next free letter; how many."""
    with recorded(actor, "add panelists"):
        locked(tryout)
        there = set(Panelist.objects.filter(tryout=tryout).values_list("user_id", flat=True))
        grants = RoleGrant.objects.filter(season=tryout.season, role=Role.EVALUATOR)
        new = [g.user for g in grants.select_related("user").order_by("user__name", "user_id")]
        made = [user for user in new if user.pk not in there and user.is_active]
        for user in made:
            Panelist.objects.create(tryout=tryout, user=user, code=free_code(tryout))
    return len(made)


def free_code(tryout: Tryout) -> str:
    """A to Z, then A2 and so on."""
    taken = set(Panelist.objects.filter(tryout=tryout).values_list("code", flat=True))
    codes = (f"{letter}{n if n > 1 else ''}" for n in range(1, 100) for letter in ascii_uppercase)
    return next(code for code in codes if code not in taken)


def save_panelist(
    *, actor: User, panelist: Panelist, away: Collection[TryoutSession] = ()
) -> Panelist:
    """Add an evaluator to the tryout, or change what they can do."""
    with recorded(actor, "save panelist"):
        locked(panelist.tryout)
        panelist.code = panelist.code or free_code(panelist.tryout)
        panelist.full_clean()
        panelist.save()
        panelist.away.set(away)
    return panelist


def remove_panelist(*, actor: User, panelist: Panelist) -> None:
    """Take an evaluator without marks off the tryout."""
    with recorded(actor, "remove panelist"):
        if panelist.marks.exists():
            raise Refused(f"{panelist.user} has given marks: they stay an evaluator.")
        panelist.delete()


@dataclass(frozen=True)
class Grouping:
    """How candidates are put into groups: how many in one, how many groups at the same time, how
    long each takes, which parts (all where none is named) and which numbers."""

    size: int
    together: int
    minutes: int
    parts: tuple[Part, ...] = ()
    first: int | None = None
    last: int | None = None


def make_groups(*, actor: User, session: TryoutSession, grouping: Grouping) -> int:
    """Groups of the session anew, by instrument and then by number; how many."""
    with recorded(actor, "make groups"):
        locked(session.tryout)
        if session.marks.exists():
            raise Refused(f"{session} has marks: its groups stay. Change single groups instead.")
        people = _in_order(session.tryout, grouping)
        if not people:
            raise Refused("Nobody to put into groups: no candidate of these has a number.")
        session.groups.all().delete()
        lots = _lots(people, grouping.size)
        for at, lot in enumerate(lots):
            slot = at // grouping.together
            group = TryoutGroup.objects.create(
                session=session,
                number=at + 1,
                slot=slot + 1,
                starts_at=session.starts_at + datetime.timedelta(minutes=slot * grouping.minutes),
                minutes=grouping.minutes,
            )
            write_places(group, lot)
    return len(lots)


def _in_order(tryout: Tryout, grouping: Grouping) -> list[Candidate]:
    rows = queries.trying(tryout).filter(number__isnull=False)
    if grouping.parts:
        rows = rows.filter(wishes__order=1, wishes__part__in=grouping.parts)
    if grouping.first is not None:
        rows = rows.filter(number__gte=grouping.first)
    if grouping.last is not None:
        rows = rows.filter(number__lte=grouping.last)

    def place(candidate: Candidate) -> tuple[int, str, int]:
        part = candidate.wanted[0].part  # type: ignore[attr-defined]
        return part.instrument.order, part.instrument.name, candidate.number or 0

    return sorted(rows, key=place)


def _lots(people: Sequence[Candidate], size: int) -> list[list[Candidate]]:
    """As even as can be: sizes differ by one at most, and none is above ``size``."""
    count = -(-len(people) // size)
    base, more = divmod(len(people), count)
    found, at = [], 0
    for n in range(count):
        end = at + base + (n < more)
        found.append(list(people[at:end]))
        at = end
    return found


def write_places(group: TryoutGroup, people: Iterable[Candidate]) -> None:
    """Whom a group has, in the order of its sheet."""
    group.places.all().delete()
    GroupPlace.objects.bulk_create(
        GroupPlace(group=group, candidate=c, order=n) for n, c in enumerate(people, 1)
    )


def change_group(
    *,
    actor: User,
    group: TryoutGroup,
    starts_at: datetime.datetime,
    candidates: Sequence[Candidate],
    panel: Sequence[Panelist],
) -> None:
    """A group's time, candidates and evaluators; nobody with marks in its session is taken out by
    it, since marks belong to sessions and not to groups."""
    with recorded(actor, "change group"):
        group.starts_at = starts_at
        group.save()
        if [c.pk for c in candidates] != list(group.places.values_list("candidate_id", flat=True)):
            write_places(group, candidates)
        write_panel(group, [p.pk for p in panel])


def write_panel(group: TryoutGroup, panelists: Collection[int]) -> None:
    """Who marks a group (ids)."""
    there = set(group.panel.values_list("panelist_id", flat=True))
    group.panel.exclude(panelist_id__in=panelists).delete()
    GroupEvaluator.objects.bulk_create(
        GroupEvaluator(group=group, panelist_id=pk) for pk in panelists if pk not in there
    )


@dataclass(frozen=True)
class Ground:
    """A tryout's groups and evaluators as the computation takes them; keys are ids."""

    groups: tuple[core.Group, ...]
    evaluators: tuple[core.Evaluator, ...]
    recused: frozenset[tuple[int, int]]
    panels: dict[int, tuple[int, ...]]


def ground_of(tryout: Tryout) -> Ground:
    """Groups that count, without calibration rounds."""
    rows = list(queries.groups(tryout).filter(session__is_calibration=False))
    places: dict[int, list[int]] = defaultdict(list)
    for place in GroupPlace.objects.filter(group__in=rows).order_by("order"):
        places[place.group_id].append(place.candidate_id)
    panels: dict[int, list[int]] = defaultdict(list)
    for row in GroupEvaluator.objects.filter(group__in=rows).order_by("panelist__code"):
        panels[row.group_id].append(row.panelist_id)
    session_ids = set(queries.sessions(tryout).values_list("pk", flat=True))
    panelists = list(queries.panelists(tryout))
    return Ground(
        groups=tuple(core.Group(g.pk, g.session_id, g.slot, tuple(places[g.pk])) for g in rows),
        evaluators=tuple(
            core.Evaluator(
                p.pk, frozenset(session_ids - {s.pk for s in p.away.all()}), p.most_looks
            )
            for p in panelists
        ),
        recused=recused_pairs(tryout, panelists),
        panels={pk: tuple(panel) for pk, panel in panels.items()},
    )


def recused_pairs(tryout: Tryout, panelists: Iterable[Panelist]) -> frozenset[tuple[int, int]]:
    """(candidate, evaluator) ids that must not meet."""
    by_user = {p.user_id: p.pk for p in panelists}
    pairs = queries.recused(tryout)
    return frozenset((who, by_user[user]) for who, user in pairs if user in by_user)


def propose_panels(*, actor: User, tryout: Tryout) -> int:
    """Panels for all groups: level loads, linked; calibration rounds have everybody. How many
    groups have one."""
    with recorded(actor, "propose panels"):
        locked(tryout)
        ground = ground_of(tryout)
        if not ground.groups:
            raise Refused("There are no groups yet: make them first.")
        if not ground.evaluators:
            raise Refused("There are no evaluators yet: add them first.")
        panels = core.propose(ground.groups, ground.evaluators, tryout.looks_wanted, ground.recused)
        rows = {g.pk: g for g in queries.groups(tryout)}
        for pk, panel in panels.items():
            write_panel(rows[pk], panel)
        for group in rows.values():
            if group.session.is_calibration:
                there = [e.key for e in ground.evaluators if group.session_id in e.sessions]
                write_panel(group, there)
    return len(panels)


def check_of(tryout: Tryout, ground: Ground | None = None) -> core.Check:
    """Whether the plan's figures will compare and everybody gets their looks."""
    ground = ground or ground_of(tryout)
    return core.check(
        ground.groups,
        ground.evaluators,
        ground.panels,
        tryout.looks_wanted,
        ground.recused,
        sessions_differ=tryout.sessions_differ,
    )


def add_link(
    *,
    actor: User,
    tryout: Tryout,
    candidate: Candidate,
    panelist: Panelist,
    session: TryoutSession,
) -> None:
    """Have an evaluator see a candidate in a session, so that panels are linked: they join the
    panel of the candidate's group there, or a group of its own is made at the session's end."""
    with recorded(actor, "change group"):
        locked(tryout)
        group = session.groups.filter(places__candidate=candidate).first()
        if group is None:
            group = _group_at_the_end(session)
            write_places(group, [candidate])
        panel = set(group.panel.values_list("panelist_id", flat=True))
        write_panel(group, panel | {panelist.pk})


def _group_at_the_end(session: TryoutSession) -> TryoutGroup:
    last = session.groups.order_by("-slot", "-number").first()
    highest = session.groups.order_by("-number").first()
    starts_at = session.starts_at
    if last is not None:
        starts_at = last.starts_at + datetime.timedelta(minutes=last.minutes)
    return TryoutGroup.objects.create(
        session=session,
        number=highest.number + 1 if highest else 1,
        slot=last.slot + 1 if last else 1,
        starts_at=starts_at,
        minutes=last.minutes if last else 12,
    )
