"""A tryout with a row of everything that its addresses can name, and music to be passed."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from roster.music.models import Excerpt, Hearing, SectionLeader
from roster.tryouts.models import (
    Correction,
    Decision,
    ItemReady,
    KeepApart,
    MarkChange,
    Offer,
    Recusal,
    RetiredNumber,
    Seat,
    SeatingPlan,
    TypedSheet,
)
from tests.factories import Band, TryoutWorld, decide, make_tryout, mark_all


@dataclass(frozen=True)
class TryoutRows:
    """The tryout, decided and posted, with one row of each kind."""

    world: TryoutWorld
    decision: Decision
    offer: Offer
    correction: Correction
    sheet: TypedSheet
    recusal: Recusal
    pair: KeepApart

    @property
    def group_pk(self) -> int:
        """A group that the first evaluator marks."""
        return self.world.panelists[0].groups.earliest("pk").group_id


def make_tryout_rows(band: Band, actor: User) -> TryoutRows:
    """Everything once, made by the actor; somebody else signs as the second."""
    world = make_tryout(band, actor)
    mark_all(world)
    second = User.objects.create_user(f"second{band.season.pk}@staff.example", "Second Signer")
    decision = decide(world, actor, second)
    first, other = world.candidates[:2]
    mark = first.marks.earliest("pk")
    correction = Correction.objects.create(tryout=world.tryout, reason="rows", asked_by=actor)
    MarkChange.objects.create(
        mark=mark, before=mark.value, by=actor, made_at=timezone.now(), correction=correction
    )
    RetiredNumber.objects.create(tryout=world.tryout, candidate=first, number=901)
    ItemReady.objects.create(candidate=first, item=world.items[0], noted_by=actor)
    offer = decision.offers.filter(kind="spot").earliest("pk")
    plan = SeatingPlan.objects.create(tryout=world.tryout)
    spot = next(s for s in band.spots.values() if s.part_id == offer.part_id)
    Seat.objects.create(plan=plan, candidate=offer.candidate, spot=spot)
    return TryoutRows(
        world=world,
        decision=decision,
        offer=offer,
        correction=correction,
        sheet=TypedSheet.objects.create(
            session=world.sessions[0], panelist=world.panelists[1], name="1"
        ),
        recusal=Recusal.objects.create(
            candidate=world.candidates[-1], evaluator=world.panelists[-1].user
        ),
        pair=KeepApart.objects.create(tryout=world.tryout, first=first, second=other),
    )


def make_music(band: Band, actor: User) -> tuple[Excerpt, SectionLeader]:
    """An excerpt that is due, heard once; a section leader."""
    excerpt = Excerpt.objects.create(
        season=band.season, name="Opener, bars 9 to 24", due=band.season.starts
    )
    Hearing.objects.create(
        excerpt=excerpt,
        member=band.members["Cai Ørnberg"],
        passed=False,
        heard_by=actor,
        heard_at=datetime.datetime(2020, 8, 1, 17, tzinfo=datetime.UTC),
        key=uuid.uuid4(),
    )
    leader = SectionLeader.objects.create(
        instrument=band.parts["clarinet"].instrument, member=band.members["Dee Quill"]
    )
    return excerpt, leader


def tryout_addresses(rows: TryoutRows) -> dict[str, tuple[Any, ...]]:
    """The arguments of every address of tryouts."""
    world = rows.world
    pk, candidate = world.tryout.pk, world.candidates[0].pk
    session, panelist = world.sessions[0].pk, world.panelists[0].pk
    one = (
        "tryout tryout-set-up tryout-edit tryout-ties tryout-start tryout-reopen tryout-quotas "
        "tryout-session-new tryout-criterion-new tryout-criteria-start readiness-item-new "
        "candidates candidate-new candidate-numbers candidate-key check-in tryout-plan "
        "tryout-panels tryout-link panelists-add panelist-new tryout-marks marks-settle "
        "typed-sheet-new tryout-figures tryout-evaluators tryout-callbacks tryout-decision "
        "tryout-what-if decision-make decision-reopen decision-option decision-posting "
        "decision-tell tryout-results tryout-results-print my-tryout-answer tryout-seating "
        "seating-rules seating-seat seating-apart seating-join look-find"
    )
    of_candidate = (
        "candidate candidate-edit candidate-ready candidate-withdraw candidate-number "
        "candidate-recuse candidate-marks checked-in check-in-note appeal-file"
    )
    by_row: tuple[tuple[str, tuple[Any, ...]], ...] = (
        (one, (pk,)),
        (of_candidate, (pk, candidate)),
        ("tryout-session tryout-session-remove tryout-groups", (pk, session)),
        ("tryout-criterion tryout-criterion-remove", (pk, world.criteria[0].pk)),
        ("readiness-item readiness-item-remove", (pk, world.items[0].pk)),
        ("panelist panelist-remove", (pk, panelist)),
        ("typed-sheet typed-differences typed-sheet-save", (pk, rows.sheet.pk)),
        ("decision-sign decision-drop", (pk, rows.decision.pk)),
        ("offer-change offer-answer offer-told", (pk, rows.offer.pk)),
        ("tryout-seat seat-lock", (pk, rows.offer.candidate_id)),
        ("look-other mark-note recuse-me", (session, candidate)),
        ("recusal-lift", (pk, rows.recusal.candidate_id, rows.recusal.pk)),
        (
            "look-correct",
            (pk, *world.candidates[0].marks.values_list("candidate", "session", "panelist")[0]),
        ),
        ("tryout-group", (pk, rows.group_pk)),
        ("tryout-print", (pk, "timetable")),
        ("correction-answer", (pk, rows.correction.pk)),
        ("seating-together", (pk, rows.pair.pk)),
        ("group-looks", (rows.group_pk,)),
    )
    return {name: arguments for names, arguments in by_row for name in names.split()}
