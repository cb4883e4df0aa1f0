"""The next season is set up like this one: what lasts comes along, what is of the year does not."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.urls import reverse

from bandops.lib.errors import Refused
from drill.challenges.models import ChallengeCriterion
from drill.events.models import Event
from drill.lineup.services.problem_builder import build
from drill.shows.models import Show
from roster.equipment.models import Issue
from roster.people.enums import MemberStatus, Standing
from roster.people.models import Instrument, Member, Part, Qualification, RoleGrant, Season
from roster.people.services.next_season import Carried, Wanted, start_next_season
from roster.ranks.models import Holding, Rank, Spot
from tests.architecture.world import client_of
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

pytestmark = pytest.mark.django_db
YEAR = datetime.timedelta(days=364)


def begun(band: Band, cast: Cast, **more: Any) -> Carried:
    season = band.season
    wanted = Wanted("Next", season.starts + YEAR, season.ends + YEAR, **more)
    return start_next_season(actor=cast.director, season=season, wanted=wanted)


def test_the_frame_of_the_band_comes_along(band: Band, cast: Cast) -> None:
    ChallengeCriterion.objects.create(season=band.season, name="Style", top=10)
    old_spots = {str(s): s.part.code for s in Spot.objects.filter(rank__season=band.season)}
    carried = begun(band, cast)
    new = carried.new
    assert new.is_current and Season.objects.filter(is_current=True).count() == 1
    assert new.band_name == band.season.band_name and new.time_zone == band.season.time_zone
    spots = Spot.objects.filter(rank__season=new).select_related("part", "rank")
    assert {str(s): s.part.code for s in spots} == old_spots
    assert {s.part.season_id for s in spots} == {new.pk}, "parts of its own"
    assert {p.instrument.season_id for p in Part.objects.filter(season=new)} == {new.pk}
    assert ChallengeCriterion.objects.filter(season=new, name="Style").exists()
    assert not Member.objects.filter(season=new).exists()
    assert not Event.objects.filter(season=new).exists()
    assert not Show.objects.filter(season=new).exists()
    assert not Holding.objects.filter(spot__rank__season=new).exists()


def test_nothing_of_this_season_is_changed(band: Band, cast: Cast) -> None:
    def state() -> dict[str, Any]:
        season = band.season
        return {
            "instruments": list(Instrument.objects.filter(season=season).values()),
            "members": list(Member.objects.filter(season=season).values()),
            "skills": list(Qualification.objects.filter(member__season=season).values()),
            "ranks": list(Rank.objects.filter(season=season).values()),
            "holdings": list(Holding.objects.filter(spot__rank__season=season).values()),
        }

    before = state()
    begun(band, cast, members=True, holders=True)
    assert state() == before


def test_members_come_along_a_year_older_and_not_cleared(band: Band, cast: Cast) -> None:
    gone = band.members["Ida Voss"]
    Member.objects.filter(pk=gone.pk).update(status=MemberStatus.LEFT)
    away = band.members["Kit Moss"]
    Member.objects.filter(pk=away.pk).update(status=MemberStatus.ON_LEAVE)
    cai = band.members["Cai Ørnberg"]
    Member.objects.filter(pk=cai.pk).update(years_marched=2, cleared_by="the trainer")
    carried = begun(band, cast, members=True, holders=True)
    new = Member.objects.get(season=carried.new, person=cai.person)
    assert (new.years_marched, new.cleared, new.eligible) == (3, Standing.NO, Standing.NO)
    assert new.cleared_by == ""
    skills = {(q.part.code, q.main) for q in new.qualifications.select_related("part")}
    assert skills == {(q.part.code, q.main) for q in cai.qualifications.select_related("part")}
    assert not Member.objects.filter(season=carried.new, person=gone.person).exists()
    on_leave = Member.objects.get(season=carried.new, person=away.person)
    assert on_leave.status == MemberStatus.ON_LEAVE, "away, and still of the band"
    assert on_leave.years_marched == away.years_marched, "a year on leave is none marched"
    held = Holding.objects.filter(member__season=carried.new)
    assert held.exists() and {h.starts for h in held} == {carried.new.starts}
    rank = Rank.objects.get(season=carried.new, label="1")
    assert rank.leader is not None and rank.leader.season_id == carried.new.pk


def test_the_store_goes_on_with_whoever_is_in_the_band_again(band: Band, cast: Cast) -> None:
    cai, ida = band.members["Cai Ørnberg"], band.members["Ida Voss"]
    make_store_rows(band.season, cast.staff, cai, ida)
    Member.objects.filter(pk=ida.pk).update(status=MemberStatus.LEFT)
    before = Issue.objects.filter(returned_at=None).count()
    carried = begun(band, cast, members=True)
    out = Issue.objects.filter(returned_at=None)
    assert out.count() == before
    of_cai = {i.member.season_id for i in out.filter(member__person=cai.person)}
    assert of_cai == {carried.new.pk}
    assert {i.member_id for i in out.filter(member__person=ida.person)} <= {ida.pk}


def test_the_first_event_of_the_new_season_has_a_lineup(band: Band, cast: Cast) -> None:
    """The whole of it works: the problem is built for it, and everybody waits to be cleared."""
    carried = begun(band, cast, members=True, holders=True)
    event = Event.objects.create(
        season=carried.new, name="First", date=carried.new.starts + YEAR / 4, time_zone="UTC"
    )
    problem = build(event).problem
    assert len(problem.members) == len(carried.members)
    assert all(m.away or not problem.segments for m in problem.members)


def test_roles_stay_or_only_the_directors_own(band: Band, cast: Cast) -> None:
    carried = begun(band, cast, roles=False)
    grants = RoleGrant.objects.filter(season=carried.new)
    assert {g.user_id for g in grants} == {cast.director.pk}


def test_what_makes_no_season_is_refused_and_nothing_is_left(band: Band, cast: Cast) -> None:
    for wanted, words in (
        (Wanted("Next", band.season.starts, band.season.ends), "starts after"),
        (Wanted(band.season.name, band.season.starts + YEAR, band.season.ends + YEAR), "already"),
    ):
        with pytest.raises(Refused, match=words):
            start_next_season(actor=cast.director, season=band.season, wanted=wanted)
    begun(band, cast)
    with pytest.raises(Refused, match="just started another"):
        wanted = Wanted("Another", band.season.starts + YEAR, band.season.ends + YEAR)
        start_next_season(actor=cast.director, season=band.season, wanted=wanted)
    assert Season.objects.count() == 2


def test_the_page_asks_twice_while_events_are_to_come(band: Band, cast: Cast) -> None:
    director, url = client_of(cast, "director"), reverse("season-next")
    page = director.get(url).content.decode()
    assert "Next season" in page and "is still to come" in page
    data = {
        "name": "2100",
        "starts": (band.season.starts + YEAR).isoformat(),
        "ends": (band.season.ends + YEAR).isoformat(),
        "members": "on",
        "roles": "on",
    }
    assert "This season is over" in director.post(url, data).content.decode()
    done = director.post(url, data | {"over": "on"}, follow=True).content.decode()
    assert "2100 has begun" in done and "cleared anew" in done
    assert client_of(cast, "staff").get(reverse("week")).status_code == 200
    assert client_of(cast, "staff").get(url).status_code == 403
