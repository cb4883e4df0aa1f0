"""Back to an earlier season and forth again, its people, and another director for good."""

from __future__ import annotations

import datetime

import pytest
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.lineup.models import LineupRow
from roster.equipment.models import Issue
from roster.people.enums import MemberStatus, Role
from roster.people.models import Deputy, Member, RoleGrant, Season
from roster.people.services.deputies import name_deputy
from roster.people.services.erasing import erase_person
from roster.people.services.next_season import Carried, Wanted, start_next_season
from roster.people.services.seasons import hand_over, make_current
from roster.people.viewer import viewer_of
from tests.answers import text
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("one season is current: an index")]
YEAR = datetime.timedelta(days=364)


def next_season(band: Band, cast: Cast, **more: bool) -> Carried:
    season = band.season
    wanted = Wanted("Next", season.starts + YEAR, season.ends + YEAR, **more)
    return start_next_season(actor=cast.director, season=season, wanted=wanted)


def test_a_season_begun_too_soon_is_left_again(band: Band, cast: Cast) -> None:
    cai, ida = band.members["Cai Ørnberg"], band.members["Ida Voss"]
    make_store_rows(band.season, cast.staff, cai, ida)
    publish(band, cast.staff)
    rows = list(LineupRow.objects.order_by("pk").values())
    members = list(Member.objects.filter(season=band.season).order_by("pk").values())
    out = dict(Issue.objects.filter(returned_at=None).values_list("pk", "member"))
    assert out and rows
    new = next_season(band, cast, members=True).new
    client = client_of(cast, "director")
    assert "Next" in text(client.get(reverse("seasons")))
    answer = client.post(reverse("season-current", args=[band.season.pk]), follow=True)
    assert f"The pages show {band.season} now" in text(answer)
    assert Season.objects.get(is_current=True) == band.season
    assert list(LineupRow.objects.order_by("pk").values()) == rows
    assert list(Member.objects.filter(season=band.season).order_by("pk").values()) == members
    assert dict(Issue.objects.filter(returned_at=None).values_list("pk", "member")) == out
    assert client_of(cast, "member").get(reverse("card")).status_code == 200
    make_current(actor=cast.director, season=new)
    now = Issue.objects.filter(returned_at=None, pk__in=out).values_list(
        "member__season", flat=True
    )
    assert set(now) == {new.pk}, "what they have went along again"
    assert AuditEntry.objects.filter(action="make season current").exists()


def test_whoever_goes_back_is_not_shut_out(band: Band, cast: Cast) -> None:
    """Another directed the earlier season; whoever makes it current can still leave it."""
    new = next_season(band, cast).new
    RoleGrant.objects.create(user=cast.staff, season=new, role=Role.DIRECTOR)
    RoleGrant.objects.filter(user=cast.staff, season=band.season).delete()
    make_current(actor=cast.staff, season=band.season)
    assert viewer_of(cast.staff).is_appointed_director
    with pytest.raises(Refused, match="is the current season already"):
        make_current(actor=cast.staff, season=band.season)


def test_nobody_directs_again_by_having_directed(band: Band, cast: Cast) -> None:
    """While an earlier season is shown, whoever directed it does not come back as this one's
    director; and handed over is handed over, whichever season is shown."""
    new = next_season(band, cast).new
    RoleGrant.objects.create(user=cast.staff, season=band.season, role=Role.DIRECTOR)
    RoleGrant.objects.filter(user=cast.staff, season=new).delete()
    make_current(actor=cast.director, season=band.season)
    assert viewer_of(cast.staff).is_appointed_director
    with pytest.raises(Refused, match=f"Only whoever directs Next shows it: {cast.director}"):
        make_current(actor=cast.staff, season=new)
    make_current(actor=cast.director, season=new)
    RoleGrant.objects.create(user=cast.staff, season=new, role=Role.STAFF)
    hand_over(actor=cast.director, season=new, user=cast.staff, stays=False)
    assert not RoleGrant.objects.filter(user=cast.director, role=Role.DIRECTOR).exists()
    make_current(actor=cast.staff, season=band.season)
    assert not viewer_of(cast.director).is_director


def test_a_change_of_season_is_not_taken_back_in_the_history(band: Band, cast: Cast) -> None:
    new = next_season(band, cast).new
    make_current(actor=cast.director, season=band.season)
    batch = AuditEntry.objects.filter(action="make season current").latest("pk").batch
    client_of(cast, "director").post(reverse("take-back"), {"batch": batch})
    assert Season.objects.get(is_current=True) == band.season != new


def test_the_page_says_who_loses_access_first(band: Band, cast: Cast) -> None:
    next_season(band, cast)
    make_current(actor=cast.director, season=band.season)
    new = Season.objects.get(name="Next")
    page = text(client_of(cast, "director").get(reverse("season-current", args=[new.pk])))
    assert "have no place in Next: no pages and no calendar" in page
    assert Season.objects.get(is_current=True) == band.season, "asked, not done"


def test_whoever_is_in_the_band_is_not_erased_while_another_season_is_shown(
    band: Band, cast: Cast
) -> None:
    next_season(band, cast)
    hal = band.members["Hal Brook"]
    assert hal.season.ends > hal.season.today()
    page = client_of(cast, "director").get(reverse("member-erase", args=[hal.pk]))
    assert f"They are in the band in {band.season}: release them first" in text(page)
    with pytest.raises(Refused, match="release them first"):
        erase_person(actor=cast.director, person=hal.person)


def test_whoever_left_with_an_earlier_season_can_be_erased(band: Band, cast: Cast) -> None:
    gone = band.members["Hal Brook"]
    Member.objects.filter(pk=gone.pk).update(status=MemberStatus.LEFT)
    next_season(band, cast)
    client = client_of(cast, "director")
    url = reverse("season-people", args=[band.season.pk])
    page = text(client.get(url, {"q": "brook"}))
    assert "Hal Brook" in page and "Ana Núñez" not in page
    assert "Nobody by that name" in text(client.get(url, {"q": "zzz"}))
    erase = reverse("member-erase", args=[gone.pk])
    assert erase in client.get(url).content.decode()
    answer = client.post(erase, {"name": "Hal Brook"}, follow=True)
    assert "They are erased" in text(answer)
    assert "Hal Brook" not in client.get(url).content.decode()


def test_the_band_is_handed_over_for_good(band: Band, cast: Cast) -> None:
    today = band.season.today()
    third = User.objects.create_user("third@staff.example", "Third")
    RoleGrant.objects.create(user=third, season=band.season, role=Role.STAFF)
    for user in (cast.staff, third):
        name_deputy(actor=cast.director, season=band.season, user=user, starts=today, ends=today)
    client = client_of(cast, "director")
    url = reverse("hand-over")
    said = client.post(url, {"user": cast.staff.pk, "stays": "on"})
    assert "required" in text(said), "it has to be meant"
    answer = client.post(url, {"user": cast.staff.pk, "stays": "on", "sure": "on"}, follow=True)
    assert f"{cast.staff} directs the band now" in text(answer)
    assert viewer_of(cast.staff).is_appointed_director and not Deputy.objects.exists()
    before = viewer_of(cast.director)
    assert before.is_staff and not before.is_director
    assert client.get(url).status_code == 403
    with pytest.raises(Refused, match="Only the director"):
        hand_over(actor=cast.director, season=band.season, user=cast.staff, stays=True)


def test_only_somebody_of_the_staff_can_take_over(band: Band, cast: Cast) -> None:
    for user in (cast.member, cast.director):
        with pytest.raises(Refused, match="not on the staff"):
            hand_over(actor=cast.director, season=band.season, user=user, stays=False)
    cast.staff.is_active = False
    cast.staff.save()
    with pytest.raises(Refused, match="is closed"):
        hand_over(actor=cast.director, season=band.season, user=cast.staff, stays=False)
    assert viewer_of(cast.director).is_appointed_director
