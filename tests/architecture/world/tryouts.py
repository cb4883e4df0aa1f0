"""A tryout with a row of everything that its addresses can name, and music to be passed."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from roster.music.models import Excerpt, Hearing, SectionLeader
from roster.people.models import Season
from roster.tryouts.models import (
    Correction,
    ItemReady,
    KeepApart,
    MarkChange,
    Recusal,
    RetiredNumber,
    Seat,
    SeatingPlan,
    Tryout,
    TypedSheet,
)
from tests.factories import Band, TryoutWorld, decide, make_tryout, mark_all


def make_tryout_rows(band: Band, actor: User) -> TryoutWorld:
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
    TypedSheet.objects.create(session=world.sessions[0], panelist=world.panelists[1], name="1")
    Recusal.objects.create(candidate=world.candidates[-1], evaluator=world.panelists[-1].user)
    KeepApart.objects.create(tryout=world.tryout, first=first, second=other)
    return world


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


def tryout_addresses(season: Season) -> dict[str, tuple[Any, ...]]:
    """The arguments of every address about the tryout that was made for a season."""
    tryout = Tryout.objects.get(season=season)
    pk, candidate = tryout.pk, tryout.candidates.get(number=101)
    session, panelist = tryout.sessions.earliest("pk").pk, tryout.panelists.earliest("pk")
    group = panelist.groups.earliest("pk").group_id
    decision = tryout.decisions.earliest("pk")
    offer = decision.offers.filter(kind="spot").earliest("pk")
    recusal = Recusal.objects.get(candidate__tryout=tryout)
    sheet = TypedSheet.objects.get(session__tryout=tryout)
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
        (of_candidate, (pk, candidate.pk)),
        ("tryout-session tryout-session-remove tryout-groups", (pk, session)),
        ("tryout-criterion tryout-criterion-remove", (pk, tryout.criteria.earliest("pk").pk)),
        ("readiness-item readiness-item-remove", (pk, tryout.readiness_items.earliest("pk").pk)),
        ("panelist panelist-remove", (pk, panelist.pk)),
        ("typed-sheet typed-differences typed-sheet-save", (pk, sheet.pk)),
        ("decision-sign decision-drop", (pk, decision.pk)),
        ("offer-change offer-answer offer-told", (pk, offer.pk)),
        ("tryout-seat seat-lock", (pk, offer.candidate_id)),
        ("look-other mark-note recuse-me", (session, candidate.pk)),
        ("recusal-lift", (pk, recusal.candidate_id, recusal.pk)),
        (
            "look-correct",
            (pk, *candidate.marks.values_list("candidate", "session", "panelist")[0]),
        ),
        ("tryout-group", (pk, group)),
        ("tryout-print", (pk, "timetable")),
        ("correction-answer", (pk, tryout.corrections.earliest("pk").pk)),
        ("seating-together", (pk, tryout.kept_apart.earliest("pk").pk)),
        ("group-looks", (group,)),
    )
    return {name: arguments for names, arguments in by_row for name in names.split()}
