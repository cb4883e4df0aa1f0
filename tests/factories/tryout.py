"""A tryout of the small band: twelve candidates, four evaluators of unlike severity, two days."""

from __future__ import annotations

import datetime
import random
from dataclasses import dataclass, field
from decimal import Decimal

from bandops.lib.accounts.models import User
from roster.people.enums import Role
from roster.people.models import Person, RoleGrant
from roster.tryouts.enums import CriterionKind, TryoutState
from roster.tryouts.models import (
    Candidate,
    Decision,
    Mark,
    Panelist,
    ReadinessItem,
    Tryout,
    TryoutCriterion,
    TryoutQuota,
    TryoutSession,
    WantedPart,
)
from roster.tryouts.services.deciding import make_decision, sign
from roster.tryouts.services.planning import Grouping, make_groups, propose_panels
from tests.factories.band import Band

NAMES = (
    "Lio Brandt",
    "Mara Quist",
    "Nell Okafor",
    "Odo Finch",
    "Pia Marsh",
    "Quin Aster",
    "Rhea Stone",
    "Sol Winter",
    "Tam Birch",
    "Una Frost",
    "Vic Lark",
    "Wyn Harrow",
)
BEGAN = datetime.datetime(2020, 8, 10, 15, tzinfo=datetime.UTC)
"""when marks were made: long before anybody corrects them"""
SEVERITY = (4.0, -6.0, 1.0, 1.0)


@dataclass
class TryoutWorld:
    """The rows by short names."""

    band: Band
    actor: User
    tryout: Tryout
    sessions: list[TryoutSession] = field(default_factory=list)
    criteria: list[TryoutCriterion] = field(default_factory=list)
    panelists: list[Panelist] = field(default_factory=list)
    candidates: list[Candidate] = field(default_factory=list)
    items: list[ReadinessItem] = field(default_factory=list)

    def mark(
        self,
        candidate: Candidate,
        panelist: Panelist,
        session: TryoutSession,
        *values: float | None,
    ) -> list[Mark]:
        """One look's marks, a value a criterion; None is not seen."""
        at = BEGAN + datetime.timedelta(minutes=Mark.objects.count())
        return [
            Mark.objects.create(
                candidate=candidate,
                criterion=criterion,
                panelist=panelist,
                session=session,
                value=None if value is None else Decimal(str(round(value, 2))),
                made_at=at,
            )
            for criterion, value in zip(self.criteria, values, strict=True)
        ]


def make_tryout(band: Band, actor: User, *, people: int = len(NAMES)) -> TryoutWorld:
    """Set up and frozen by ``actor``, with numbers from 101, groups and panels, and no marks yet.
    Evaluators of the season come first, others are added up to four."""
    starts = datetime.datetime.combine(
        band.season.starts, datetime.time(9), tzinfo=band.season.zone
    )
    tryout = Tryout.objects.create(
        season=band.season, name="Fall tryout", looks_wanted=3, minimum_looks=2
    )
    world = TryoutWorld(band, actor, tryout)
    for n, name in enumerate(("Monday", "Tuesday")):
        at = starts + datetime.timedelta(days=n)
        world.sessions.append(
            TryoutSession.objects.create(tryout=tryout, name=name, starts_at=at, place="Lot 4")
        )
    for order, (name, kind, weight) in enumerate(
        (
            ("Flanks", CriterionKind.FUNDAMENTAL, 2),
            ("Slides", CriterionKind.FUNDAMENTAL, 2),
            ("Music", CriterionKind.MUSIC, 1),
        )
    ):
        world.criteria.append(
            TryoutCriterion.objects.create(
                tryout=tryout, name=name, kind=kind, weight=weight, bottom=0, order=order
            )
        )
    for part, target, alternates in (("trumpet", 4, 2), ("clarinet", 2, 1)):
        TryoutQuota.objects.create(
            tryout=tryout,
            part=band.parts[part],
            minimum=1,
            target=target,
            maximum=target + 1,
            alternates=alternates,
        )
    world.items = [ReadinessItem.objects.create(tryout=tryout, name="physical form")]
    for n, name in enumerate(NAMES[:people]):
        _add_candidate(world, n, name)
    grants = RoleGrant.objects.filter(season=band.season, role=Role.EVALUATOR).order_by("pk")
    there = [grant.user for grant in grants.select_related("user")[:4]]
    for n in range(4):
        user = there[n] if n < len(there) else _evaluator(band, n)
        world.panelists.append(Panelist.objects.create(tryout=tryout, user=user, code="ABCD"[n]))
    for session in world.sessions:
        make_groups(actor=actor, session=session, grouping=Grouping(4, 1, 10))
    propose_panels(actor=actor, tryout=tryout)
    tryout.state, tryout.frozen_at = TryoutState.JUDGING, starts
    tryout.save()
    return world


def _add_candidate(world: TryoutWorld, n: int, name: str) -> None:
    person = Person.objects.create(
        legal_name=name, email=f"{name.split()[0].lower()}.{world.band.season.pk}@else.example"
    )
    candidate = Candidate.objects.create(
        tryout=world.tryout, person=person, number=101 + n, years_marched=n % 3
    )
    parts = ("trumpet", "clarinet") if n % 3 else ("clarinet",)
    for order, part in enumerate(parts[: 1 + n % 2], 1):
        WantedPart.objects.create(candidate=candidate, part=world.band.parts[part], order=order)
    world.candidates.append(candidate)


def _evaluator(band: Band, n: int) -> User:
    address = f"evaluator{n}.{band.season.pk}@staff.example"
    user = User.objects.create_user(address, f"Evaluator {n}")
    RoleGrant.objects.create(user=user, season=band.season, role=Role.EVALUATOR)
    return user


def mark_all(world: TryoutWorld, *, seed: int = 1) -> None:
    """Every look that the plan has: true figures fall with the number, evaluators differ."""
    rng = random.Random(seed)
    for session in world.sessions:
        for group in session.groups.prefetch_related("places__candidate", "panel__panelist"):
            for place in group.places.all():
                true = 85 - 3 * world.candidates.index(place.candidate)
                for row in group.panel.all():
                    offset = SEVERITY["ABCD".index(row.panelist.code)]
                    values = [
                        min(10.0, max(0.0, (true + offset + rng.gauss(0, 3)) / 10))
                        for _ in world.criteria
                    ]
                    world.mark(place.candidate, row.panelist, session, *values)


def decide(world: TryoutWorld, first: User, second: User) -> Decision:
    """The rules' decision, signed by two, told and posted long ago."""
    made = make_decision(actor=first, tryout=world.tryout, reason="By the figures.")
    sign(actor=first, decision=made)
    signed = sign(actor=second, decision=made)
    long_ago = datetime.datetime(2020, 8, 1, 17, tzinfo=datetime.UTC)
    Tryout.objects.filter(pk=world.tryout.pk).update(notes_at=long_ago, posts_at=long_ago)
    world.tryout.refresh_from_db()
    return signed
