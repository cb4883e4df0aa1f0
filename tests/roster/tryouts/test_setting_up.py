"""Set-up: frozen before the first mark, copied from last season, planned so that marks compare."""

from __future__ import annotations

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from bandops.lib.errors import Refused
from roster.people.models import Instrument, Part, Season
from roster.tryouts import queries
from roster.tryouts.models import (
    GroupEvaluator,
    GroupPlace,
    Mark,
    Recusal,
    Tryout,
    TryoutCriterion,
)
from roster.tryouts.pdf import paper_sheets
from roster.tryouts.services import planning
from roster.tryouts.services import setting_up as services
from tests.factories import Cast, TryoutWorld, mark_all

pytestmark = pytest.mark.django_db


def test_frozen_rules_stay(world: TryoutWorld, cast: Cast) -> None:
    criterion = world.criteria[0]
    for change in (
        lambda: services.save_tryout(actor=cast.staff, tryout=world.tryout),
        lambda: services.save_criterion(actor=cast.staff, criterion=criterion),
        lambda: services.remove_criterion(actor=cast.staff, criterion=criterion),
        lambda: services.order_ties(actor=cast.staff, tryout=world.tryout, criteria=[]),
        lambda: services.add_starters(actor=cast.staff, tryout=world.tryout),
    ):
        with pytest.raises(Refused, match="frozen"):
            change()
    assert TryoutCriterion.objects.count() == 3


def test_rules_open_again_only_before_the_first_mark(world: TryoutWorld, cast: Cast) -> None:
    services.reopen_set_up(actor=cast.director, tryout=world.tryout)
    services.start_judging(actor=cast.staff, tryout=world.tryout)
    mark_all(world)
    with pytest.raises(Refused, match="Marks are in"):
        services.reopen_set_up(actor=cast.director, tryout=world.tryout)


def test_judging_needs_criteria_sessions_and_quotas(world: TryoutWorld, cast: Cast) -> None:
    bare = services.save_tryout(
        actor=cast.staff, tryout=Tryout(season=world.band.season, name="Drums")
    )
    with pytest.raises(Refused) as refused:
        services.start_judging(actor=cast.staff, tryout=bare)
    assert len(refused.value.details) == 3


def test_highest_and_lowest_are_left_out_of_raw_figures_alone(world: TryoutWorld) -> None:
    with pytest.raises(ValidationError, match="raw figures only"):
        Tryout(season=world.band.season, name="New", drop_extremes=True).full_clean()
    Tryout(season=world.band.season, name="New", drop_extremes=True, deciding="raw").full_clean()


def test_a_new_season_s_tryout_is_set_up_like_the_last(world: TryoutWorld, cast: Cast) -> None:
    old = world.band.season
    season = Season.objects.create(
        name="2100",
        band_name=old.band_name,
        starts=old.starts + datetime.timedelta(days=364),
        ends=old.ends + datetime.timedelta(days=364),
    )
    instrument = Instrument.objects.create(season=season, name="Trumpet")
    Part.objects.create(season=season, instrument=instrument, name="Trumpet", code="trumpet")
    Tryout.objects.filter(pk=world.tryout.pk).update(tie_order=[world.criteria[1].pk], sure="0.9")
    of = Tryout.objects.get(pk=world.tryout.pk)
    made = services.copy_tryout(actor=cast.staff, tryout=Tryout(season=season, name="Fall"), of=of)
    assert (made.state, float(made.sure), made.looks_wanted) == ("draft", 0.9, 3)
    assert [c.name for c in queries.criteria(made)] == ["Flanks", "Slides", "Music"]
    assert [c.name for c in queries.criteria(made).filter(pk__in=made.tie_order)] == ["Slides"]
    assert [q.part.code for q in queries.quotas(made)] == ["trumpet"]
    moved = [s.starts_at for s in queries.sessions(made)]
    assert moved == [s.starts_at + datetime.timedelta(days=364) for s in world.sessions]


def test_the_proposed_plan_can_be_compared_and_is_level(world: TryoutWorld) -> None:
    check = planning.check_of(world.tryout)
    assert check.linking.is_whole and not check.twice and not check.away and not check.short
    assert max(check.loads.values()) - min(check.loads.values()) <= 8


def test_a_plan_in_two_halves_is_refused_in_words_and_mended_by_one_look(
    world: TryoutWorld, cast: Cast, client: object, signed_in: object
) -> None:
    for session, codes in zip(world.sessions, ("AB", "CD"), strict=True):
        people = world.candidates[:6] if codes == "AB" else world.candidates[6:]
        session.groups.all().delete()
        group = session.groups.create(number=1, slot=1, starts_at=session.starts_at)
        planning.write_places(group, people)
        panel = [p.pk for p in world.panelists if p.code in codes]
        planning.write_panel(group, panel)
    check = planning.check_of(world.tryout)
    assert len(check.linking.parts) == 2 and len(check.linking.links) == 1
    browser = signed_in(cast.staff)  # type: ignore[operator]
    page = browser.get(reverse("tryout-plan", args=[world.tryout.pk])).content.decode()
    assert "These panels cannot be compared" in page and "Add this look" in page
    [link] = check.linking.links
    sent = {"candidate": link.candidate, "panelist": link.evaluator, "session": link.session}
    browser.post(reverse("tryout-link", args=[world.tryout.pk]), sent)
    assert planning.check_of(world.tryout).linking.is_whole


def test_recused_evaluators_are_not_on_the_panel(world: TryoutWorld, cast: Cast) -> None:
    who = world.candidates[0]
    Recusal.objects.create(candidate=who, evaluator=world.panelists[0].user)
    planning.propose_panels(actor=cast.staff, tryout=world.tryout)
    met = GroupEvaluator.objects.filter(panelist=world.panelists[0], group__places__candidate=who)
    assert not met.exists()


def test_a_session_takes_some_numbers_and_prints_its_own_sheets(
    world: TryoutWorld, cast: Cast
) -> None:
    Mark.objects.all().delete()
    monday, tuesday = world.sessions
    grouping = planning.Grouping(4, 1, 10, first=103, last=107)
    planning.make_groups(actor=cast.staff, session=tuesday, grouping=grouping)
    places = GroupPlace.objects.filter(group__session=tuesday)
    assert set(places.values_list("candidate__number", flat=True)) == set(range(103, 108))
    planning.propose_panels(actor=cast.staff, tryout=world.tryout)
    of = [{s.group.session for s in paper_sheets(world.tryout, it)} for it in world.sessions]
    assert of == [{monday}, {tuesday}]
