"""From offers to members: signatures, the hour, answers, who moves up, and one step back."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from decimal import Decimal

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.undo import take_back
from bandops.lib.errors import Refused
from bandops.lib.person_names import sort_key
from drill.fundamentals.models import PassedFundamental
from roster.people.models import Member
from roster.ranks.models import AlternatePlace, Holding
from roster.tryouts.models import (
    Decision,
    ItemReady,
    Mark,
    Offer,
    ReadinessItem,
    Seat,
    SeatingPlan,
)
from roster.tryouts.services import answering, appeals, deciding, joining, results, seating
from roster.tryouts.services.figures import CandidateFigure, figures_of
from roster.tryouts.services.proposing import wanted_by
from tests.factories import Cast, TryoutWorld, mark_all

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres(
        "rows are locked, kept by constraints and ordered with and without a part"
    ),
]

SignedIn = Callable[[User | None], Client]
NOTES = datetime.datetime(2099, 8, 14, 21, tzinfo=datetime.UTC)
POSTS = datetime.datetime(2099, 8, 14, 23, tzinfo=datetime.UTC)
SECOND = datetime.timedelta(seconds=1)


@pytest.fixture
def decided(world: TryoutWorld, cast: Cast) -> Decision:
    mark_all(world)
    made = deciding.make_decision(
        actor=cast.staff, tryout=world.tryout, reason="", expires_at=POSTS + 3600 * SECOND
    )
    deciding.sign(actor=cast.staff, decision=made)
    signed = deciding.sign(actor=cast.director, decision=made)
    world.tryout.refresh_from_db()
    return signed


def spot_offer(decision: Decision) -> Offer:
    return deciding.offers(decision).filter(kind="spot").earliest("pk")


def test_two_different_people_sign(world: TryoutWorld, cast: Cast) -> None:
    mark_all(world)
    made = deciding.make_decision(actor=cast.staff, tryout=world.tryout, reason="")
    deciding.sign(actor=cast.staff, decision=made)
    with pytest.raises(Refused, match="second person"):
        deciding.sign(actor=cast.staff, decision=made)
    assert deciding.current(world.tryout) is None
    with pytest.raises(IntegrityError), transaction.atomic():
        Decision.objects.filter(pk=made.pk).update(second_by=cast.staff)


def test_marks_that_changed_since_keep_a_version_from_being_signed(
    world: TryoutWorld, cast: Cast
) -> None:
    mark_all(world)
    made = deciding.make_decision(actor=cast.staff, tryout=world.tryout, reason="")
    last = Mark.objects.filter(candidate=world.candidates[-1]).earliest("pk")
    Mark.objects.filter(pk=last.pk).update(value=10)
    with pytest.raises(Refused) as refused:
        deciding.sign(actor=cast.staff, decision=made)
    assert "changed since" in " ".join(refused.value.details)


def test_nothing_is_told_or_posted_a_second_early(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    results.set_posting(actor=cast.staff, tryout=world.tryout, notes_at=NOTES, posts_at=POSTS)
    who = spot_offer(decided).candidate
    who.person.user = cast.outsider
    who.person.save()
    url, mine = reverse("tryout-results", args=[world.tryout.pk]), reverse("my-tryout")
    visitor = signed_in(None)
    with time_machine.travel(NOTES - SECOND, tick=False):
        client = signed_in(cast.outsider)
        assert "You are offered" not in client.get(mine).content.decode()
    with time_machine.travel(NOTES, tick=False):
        assert "You are offered" in client.get(mine).content.decode()
        assert "My marks" not in client.get(mine).content.decode()
    with time_machine.travel(POSTS - SECOND, tick=False):
        assert visitor.get(url).status_code == 404
        assert signed_in(cast.director).get(url).status_code == 404
    with time_machine.travel(POSTS, tick=False):
        assert who.person.name in visitor.get(url).content.decode()
        assert "My marks" in client.get(mine).content.decode()


def test_the_list_has_the_selected_alone_by_name_and_honours_who_opted_out(
    world: TryoutWorld, decided: Decision
) -> None:
    offer = spot_offer(decided)
    offer.candidate.person.listed = False
    offer.candidate.person.save()
    listed = results.public_list(decided)
    names = [n for part in listed for n in [*part.members, *part.alternates]]
    assert offer.candidate.person.name not in names
    turned_down = deciding.offers(decided).filter(kind="none")
    assert turned_down and not {o.candidate.person.name for o in turned_down} & set(names)
    text = " ".join(names)
    assert not any(str(c.number) in text for c in world.candidates)
    for part in listed:
        assert part.members == sorted(part.members, key=sort_key)


@pytest.mark.usefixtures("decided")
def test_private_notes_come_before_the_list(world: TryoutWorld, cast: Cast) -> None:
    with pytest.raises(Refused, match="Private notes come first"):
        results.set_posting(actor=cast.staff, tryout=world.tryout, notes_at=POSTS, posts_at=NOTES)


def test_an_offer_expires_and_the_alternate_moves_up(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    offer = spot_offer(decided)
    rest = deciding.offers(decided).exclude(pk=offer.pk).exclude(kind="none")
    for other in rest:
        answering.answer_offer(actor=cast.staff, offer=other, accept=True, at=NOTES)
    late = POSTS + 2 * 3600 * SECOND
    with pytest.raises(Refused, match="expired"):
        answering.answer_offer(actor=cast.staff, offer=offer, accept=True, at=late)
    found = answering.vacancies(world.tryout, late)
    assert found.parts == ((offer.part, 1),)
    by_key = {option.key: option for option in found.options}
    assert by_key[answering.LEAVE_OPEN].told <= by_key[answering.MOVE_UP].told
    first = deciding.offers(decided).get(kind="alternate", part=offer.part, standing=1)
    made = answering.take_option(
        actor=cast.staff,
        tryout=world.tryout,
        key=answering.MOVE_UP,
        reason="no answer",
        now=late,
    )
    moved = made.offers.get(candidate=first.candidate)
    assert (moved.kind, moved.part) == ("spot", offer.part) and "Moved up" in moved.reason
    assert made.offers.get(candidate=offer.candidate).kind == "none"
    same = rest.exclude(candidate=first.candidate)
    answers = dict(made.offers.values_list("candidate", "state"))
    assert {answers[o.candidate_id] for o in same} == {"accepted"}, "answers to the same stay"


def test_whoever_let_an_offer_go_is_told_that_and_no_refusal(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    offer = spot_offer(decided)
    answering.answer_offer(actor=cast.staff, offer=offer, accept=False, at=NOTES)
    Offer.objects.filter(decision=decided).update(told_at=NOTES)
    made = answering.take_option(
        actor=cast.staff, tryout=world.tryout, key=answering.MOVE_UP, reason="one left", now=NOTES
    )
    moved = made.offers.get(reason__startswith="Moved up")
    assert moved.expires_at == offer.expires_at, "whoever moves up has the deadline of the rest"
    for who in (cast.staff, cast.director):
        deciding.sign(actor=who, decision=made)
    assert {pk: o.words for pk, o in deciding.let_go(made).items()} == {
        offer.candidate_id: offer.words
    }
    offer.candidate.person.user = cast.outsider
    offer.candidate.person.save()
    type(world.tryout).objects.filter(pk=world.tryout.pk).update(notes_at=NOTES, posts_at=POSTS)
    with time_machine.travel(NOTES + SECOND, tick=False):
        text = signed_in(cast.outsider).get(reverse("my-tryout")).content.decode()
    assert "You declined" in text and "cannot offer" not in text


def test_what_stays_open_is_offered_to_be_filled_again(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    offer = spot_offer(decided)
    answering.withdraw_offer(actor=cast.staff, offer=offer, at=NOTES)
    made = answering.take_option(
        actor=cast.staff, tryout=world.tryout, key=answering.LEAVE_OPEN, reason="wait", now=NOTES
    )
    for who in (cast.staff, cast.director):
        deciding.sign(actor=who, decision=made)
    found = answering.vacancies(world.tryout, NOTES)
    assert found.parts == ((offer.part, 1),)
    still = {option.key: option.open for option in found.options}
    assert still == {answering.MOVE_UP: 0, answering.BY_RULES: 0, answering.LEAVE_OPEN: 1}
    again = answering.take_option(
        actor=cast.staff, tryout=world.tryout, key=answering.BY_RULES, reason="now", now=NOTES
    )
    assert again.offers.get(candidate=offer.candidate).kind == "none", "they stay on record"


def test_an_offer_never_ends_before_it_is_made(world: TryoutWorld, cast: Cast) -> None:
    mark_all(world)
    with time_machine.travel(POSTS, tick=False), pytest.raises(Refused, match="passed already"):
        deciding.make_decision(
            actor=cast.staff, tryout=world.tryout, reason="", expires_at=POSTS - SECOND
        )


def test_an_unknown_answer_is_refused(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    offer = spot_offer(decided)
    url = reverse("offer-answer", args=[world.tryout.pk, offer.pk])
    signed_in(cast.staff).post(url, {"what": "maybe"})
    offer.refresh_from_db()
    assert offer.state == "open"


def test_whoever_accepted_can_let_it_go_until_they_are_a_member(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    offer = spot_offer(decided)
    offer.candidate.person.user = cast.outsider
    offer.candidate.person.save()
    type(world.tryout).objects.update(notes_at=NOTES)
    with time_machine.travel(NOTES + SECOND, tick=False):
        client = signed_in(cast.outsider)
        url = reverse("my-tryout-answer", args=[world.tryout.pk])
        for what, state in (
            ("accept", "accepted"),
            ("decline", "declined"),
            ("accept", "accepted"),
        ):
            client.post(url, {"what": what})
            offer.refresh_from_db()
            assert offer.state == state
        assert "Decline after all" in client.get(reverse("my-tryout")).content.decode()
        SeatingPlan.objects.create(tryout=world.tryout, applied_at=NOTES)
        assert "Decline after all" not in client.get(reverse("my-tryout")).content.decode()
        answer = client.post(url, {"what": "decline"}, follow=True)
        assert "members already" in answer.content.decode()
        with pytest.raises(Refused, match="members already"):
            answering.withdraw_offer(actor=cast.staff, offer=offer, at=NOTES)
    offer.refresh_from_db()
    assert offer.state == "accepted"


def test_whoever_declined_can_accept_until_the_deadline(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    offer = spot_offer(decided)
    assert offer.expires_at is not None
    last = offer.expires_at - SECOND

    def answer(at: datetime.datetime, *, accept: bool) -> str:
        answering.answer_offer(actor=cast.staff, offer=offer, accept=accept, at=at)
        offer.refresh_from_db()
        return offer.state

    assert answer(last, accept=False) == "declined"
    assert answer(last, accept=True) == "accepted"
    assert answer(offer.expires_at, accept=True) == "accepted", "they had it in time"
    assert answer(offer.expires_at, accept=False) == "declined", "whoever cannot come says so"
    with pytest.raises(Refused, match="expired"):
        answer(offer.expires_at, accept=True)


def test_without_a_standard_nobody_is_below_it(
    world: TryoutWorld, decided: Decision, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = figures_of(world.tryout)
    monkeypatch.setattr(CandidateFigure, "deciding", lambda self, tryout: -1.0)
    assert not [w for w in wanted_by(found) if "below" in w.reason]
    world.tryout.standard = Decimal(100)
    found = figures_of(world.tryout)
    assert all("100" not in w.reason and "below" in w.reason for w in wanted_by(found))


def test_the_decision_says_who_still_lacks_what_nobody_marches_without(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    who = spot_offer(decided).candidate
    items = {
        needed: ReadinessItem.objects.create(
            tryout=world.tryout, name=name, order=n, needed_to_march=needed
        )
        for n, (needed, name) in enumerate(((True, "Clearance form"), (False, "Photo")), 50)
    }
    for other in world.candidates:
        if other.pk != who.pk:
            ItemReady.objects.create(candidate=other, item=items[True], noted_by=cast.staff)
    page = signed_in(cast.staff).get(reverse("tryout-decision", args=[world.tryout.pk]))
    assert page.content.decode().count("missing: Clearance form") == 1
    assert "missing: Photo" not in page.content.decode()


def test_the_wishes_of_the_seating_are_saved(
    world: TryoutWorld, decided: Decision, cast: Cast, signed_in: SignedIn
) -> None:
    url = reverse("seating-rules", args=[world.tryout.pk])
    wishes = {"balance": 7, "company": 3, "home": 0, "height": 1, "experience": 2}
    assert signed_in(cast.staff).post(url, wishes).status_code == 302
    plan = world.tryout.seating
    assert {name: getattr(plan, name) for name in wishes} == wishes


def test_the_file_for_an_appeal_has_own_marks_alone(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    who = world.candidates[0]
    who.tryout = world.tryout
    file = appeals.file_of(who)
    assert {look.evaluator for look in file.looks} <= {f"Evaluator {n}" for n in range(1, 5)}
    assert sum(len(look.marks) for look in file.looks) == who.marks.count()
    assert file.figures["raw"] is not None and file.offer is not None
    assert [c for c, _ in file.rows] == list(world.criteria)
    for place, look in enumerate(file.looks):
        column = {c: marks[place] for c, marks in file.rows if marks[place][0]}
        assert column == {c: (mark, before) for c, mark, before in look.marks}


def test_the_seated_become_members_in_one_step_that_can_be_taken_back(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    Holding.objects.all().delete()
    AlternatePlace.objects.all().delete()
    world.criteria[0].fundamental, world.criteria[0].passing = "left-flank", 5
    world.criteria[0].save()
    seating.seat_all(actor=cast.staff, tryout=world.tryout)
    members = Member.objects.count()
    made = joining.join_all(actor=cast.staff, tryout=world.tryout, on=world.band.season.starts)
    assert made.holders == Seat.objects.count() == Holding.objects.count() > 0
    assert made.alternates == AlternatePlace.objects.count() > 0
    for holding in Holding.objects.select_related("spot", "member"):
        assert holding.member.qualifications.filter(part=holding.spot.part).exists()
    assert PassedFundamental.objects.filter(code="left-flank").exists()
    standing = AlternatePlace.objects.order_by("part", "standing").values_list("standing")
    assert all(s[0] for s in standing)
    with pytest.raises(Refused, match="members already"):
        joining.join_all(actor=cast.staff, tryout=world.tryout, on=world.band.season.starts)
    batch = AuditEntry.objects.filter(action="make members of the selected").latest("pk").batch
    take_back(actor=cast.staff, batch=batch)
    assert Member.objects.count() == members and not Holding.objects.exists()
    assert not PassedFundamental.objects.exists()
    world.tryout.seating.refresh_from_db()
    assert world.tryout.seating.applied_at is None


def test_one_withdrawal_moves_nobody_else(
    world: TryoutWorld, decided: Decision, cast: Cast
) -> None:
    seating.seat_all(actor=cast.staff, tryout=world.tryout)
    before = dict(Seat.objects.values_list("candidate", "spot"))
    offer = deciding.offers(decided).get(candidate=next(iter(before)), kind="spot")
    answering.withdraw_offer(actor=cast.staff, offer=offer, at=NOTES)
    seating.seat_all(actor=cast.staff, tryout=world.tryout)
    after = dict(Seat.objects.values_list("candidate", "spot"))
    assert offer.candidate_id not in after
    assert all(after.get(key) == spot for key, spot in before.items() if key in after)
