"""The demo's tryout week: 310 candidates, 14 evaluators of unlike severity, four days, all marked.

The marks are drawn from a seed; two looks of one sheet are exchanged, some criteria were not seen.
"""

from __future__ import annotations

import datetime
import random
from collections import Counter
from decimal import Decimal

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from roster.people.enums import Role
from roster.people.models import Season
from roster.people.services.seasons import grant_role
from roster.ranks.models import AlternatePlace, Spot
from roster.tryouts import queries
from roster.tryouts.enums import CriterionKind
from roster.tryouts.models import (
    Candidate,
    Mark,
    Panelist,
    ReadinessItem,
    Tryout,
    TryoutCriterion,
    TryoutGroup,
    TryoutQuota,
    TryoutSession,
)
from roster.tryouts.services import candidates as candidate_services
from roster.tryouts.services import planning, setting_up

SEED = 20_260_817
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday")
CRITERIA = (
    ("Posture and carriage", "", 1),
    ("Step size and line", "", 2),
    ("Left flank", "left-flank", 1),
    ("Right flank", "right-flank", 1),
    ("To-the-rear", "to-the-rear", 2),
    ("Left slide", "lateral-slide-left", 1),
    ("Right slide", "lateral-slide-right", 1),
    ("Box to-the-rear", "", 2),
    ("Tone", "", 2),
    ("Rhythm", "", 2),
    ("Memory", "", 1),
)
EVALUATORS = (
    "Brisa Holloway",
    "Cosmo Attard",
    "Delphine Okeke",
    "Emrys Vantongeren",
    "Freya Ostrander",
    "Gideon Marlowe-Singh",
    "Hyacinth Pell",
    "Ignatius Moreau",
    "Juniper Asante",
    "Kasimir Thorne",
    "Leocadia Brandt",
    "Montague Rivers",
    "Nerissa Quayle",
)
MUSIC = {"Tone", "Rhythm"}
TIES = {"Step size and line", "Box to-the-rear"}
SIZE, TOGETHER, MINUTES = 8, 4, 12


def set_up(actor: User, season: Season) -> Tryout:
    """The tryout with its rules; candidates come in by their file."""
    with recorded(actor, "save tryout"):
        tryout = Tryout(season=season, name="Tryout week", looks_wanted=3, minimum_looks=2)
        setting_up.save_tryout(actor=actor, tryout=tryout)
        for day, name in enumerate(DAYS):
            starts = season.starts + datetime.timedelta(days=7 + day)
            TryoutSession.objects.create(
                tryout=tryout,
                name=name,
                starts_at=datetime.datetime.combine(starts, datetime.time(9), tzinfo=season.zone),
                place="Mill Lane practice field",
            )
        _criteria(tryout)
        ties = TryoutCriterion.objects.filter(tryout=tryout, name__in=TIES).order_by("order")
        setting_up.order_ties(actor=actor, tryout=tryout, criteria=list(ties))
        _quotas(tryout)
        for order, name in enumerate(("physical form", "instrument contract"), 1):
            ReadinessItem.objects.create(tryout=tryout, name=name, order=order)
    for number, name in enumerate(EVALUATORS, 2):
        email = f"evaluator{number}@quillwater.example"
        grant_role(actor=actor, season=season, email=email, name=name, role=Role.EVALUATOR)
    planning.add_panelists(actor=actor, tryout=tryout)
    return tryout


def _criteria(tryout: Tryout) -> None:
    TryoutCriterion.objects.bulk_create(
        TryoutCriterion(
            tryout=tryout,
            name=name,
            kind=CriterionKind.MUSIC
            if name in MUSIC
            else CriterionKind.MEMORY
            if name == "Memory"
            else CriterionKind.FUNDAMENTAL,
            fundamental=code,
            passing=6 if code else None,
            weight=weight,
            order=order,
            anchors=setting_up.ANCHORS if not order else "",
        )
        for order, (name, code, weight) in enumerate(CRITERIA)
    )


def _quotas(tryout: Tryout) -> None:
    """As many of each part as the ranks have spots, and as many alternates as stand by."""
    spots = Counter(Spot.objects.filter(rank__season=tryout.season).values_list("part", flat=True))
    places = AlternatePlace.objects.filter(rank__season=tryout.season)
    standing_by = Counter(places.values_list("part", flat=True))
    TryoutQuota.objects.bulk_create(
        TryoutQuota(
            tryout=tryout,
            part_id=part,
            minimum=max(1, count - 2),
            target=count,
            maximum=count + 1,
            alternates=standing_by[part],
        )
        for part, count in spots.items()
    )


def judge(actor: User, tryout: Tryout) -> int:
    """Numbers, groups, panels, frozen rules, and every mark; how many marks."""
    candidate_services.give_numbers(actor=actor, tryout=tryout)
    sessions = list(tryout.sessions.all())
    rows = list(Candidate.objects.filter(tryout=tryout).order_by("number"))
    a_day = -(-len(rows) // len(sessions))
    for n, session in enumerate(sessions):
        numbers = [c.number for c in rows[n * a_day : (n + 1) * a_day]]
        grouping = planning.Grouping(SIZE, TOGETHER, MINUTES, first=numbers[0], last=numbers[-1])
        planning.make_groups(actor=actor, session=session, grouping=grouping)
    planning.propose_panels(actor=actor, tryout=tryout)
    setting_up.start_judging(actor=actor, tryout=tryout)
    made = _marks(tryout, rows)
    with recorded(actor, "mark candidate"):
        Mark.objects.bulk_create(made, batch_size=500)
        here = tryout.sessions.earliest("starts_at").starts_at
        Candidate.objects.filter(tryout=tryout).update(checked_in_at=here)
    return len(made)


def _marks(tryout: Tryout, rows: list[Candidate]) -> list[Mark]:
    """Better the longer somebody marched; evaluators, criteria and moments vary around that."""
    rng = random.Random(SEED)  # noqa: S311 - a repeatable demo, not a secret
    able = {c.pk: rng.gauss(5.6 + 0.55 * min(c.years_marched, 3), 1.1) for c in rows}
    criteria = list(tryout.criteria.all())
    severity = {p.pk: rng.gauss(0, 0.4) for p in Panelist.objects.filter(tryout=tryout)}
    made: list[Mark] = []
    groups = list(queries.groups(tryout).prefetch_related("places__candidate", "panel"))
    widest = max(groups, key=lambda group: _span(group, able))
    for group in groups:
        people = [place.candidate for place in group.places.all()]
        for which, row in enumerate(group.panel.all()):
            seen = {p.pk: p.pk for p in people}
            if group == widest and not which:
                first, *_, last = sorted(seen, key=lambda pk: able[pk])
                seen |= {first: last, last: first}
            for n, person in enumerate(people):
                level = able[seen[person.pk]] + severity[row.panelist_id] + rng.gauss(0, 0.5)
                at = group.starts_at + datetime.timedelta(minutes=n)
                for criterion in criteria:
                    value = min(10, max(1, round(rng.gauss(level, 0.9))))
                    made.append(
                        Mark(
                            candidate=person,
                            criterion=criterion,
                            panelist_id=row.panelist_id,
                            session=group.session,
                            value=None if rng.random() < 0.004 else Decimal(value),
                            made_at=at,
                        )
                    )
    return made


def _span(group: TryoutGroup, able: dict[int, float]) -> float:
    """How far apart the best and the weakest of a group are."""
    found = [able[place.candidate_id] for place in group.places.all()]
    return max(found, default=0.0) - min(found, default=0.0)
