"""What a phone keeps unasked, and what it lets go."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.urls import reverse

from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.events.models import Event
from roster.ranks.models import Rank
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.e2e.conftest import PHONE, OpenPage, Week
from tests.e2e.test_no_network import KEPT, meanwhile, until, wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def rehearsal(week: Week) -> Iterator[Event]:
    event = make_rehearsal(week.band)
    with clock(19):
        yield event


def prints_of(number: int) -> list[str]:
    found = Artifact.objects.filter(group=f"lineup:{number}").exclude(filename__startswith="slips")
    return [reverse("file", args=[pk]) for pk in found.values_list("pk", flat=True)]


def test_prints_of_an_old_revision_go_when_a_newer_is_kept(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    page = phone.go("/week/")
    old = prints_of(week.second.pk)[0]
    wait_until_kept(page, old)
    meanwhile(week, "Gus Tamm", "Jon Pell")
    for job in waiting_jobs():
        run_job(job)
    newest = week.band.event.lineups.get(number=3)
    page = phone.go("/week/")
    wait_until_kept(page, prints_of(newest.pk)[0])
    until(page, f"({KEPT})('{old}').then((has) => !has)")
    revision = reverse("revision", args=[week.second.pk])
    until(page, f"({KEPT})('{revision}').then((has) => !has)")
    phone.go(revision)
    page.wait_for_timeout(500)
    assert not page.evaluate(f"({KEPT})('{revision}')"), "an old page is read, not kept"


def test_a_page_that_is_refused_now_is_not_read_from_its_copy(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    rank = reverse("my-rank")
    page = phone.go(rank)
    wait_until_kept(page, rank)
    Rank.objects.update(leader=None, assistant_leader=None)
    phone.go(rank)
    until(page, f"({KEPT})('{rank}').then((has) => !has)")


def test_copies_too_old_go_though_nobody_opens_them(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.member, PHONE, service_workers="allow")
    page = phone.go("/card/")
    wait_until_kept(page, "/card/")
    page.evaluate(
        """async () => {
          const store = await caches.open("private"), user = document.body.dataset.user;
          const made = new Date(Date.now() - 40 * 3600 * 1000).toISOString();
          const headers = { "X-Offline-Copy": user, "X-Made-At": made };
          await store.put("/old/", new Response("old", { headers }));
        }"""
    )
    phone.go("/card/")
    until(page, f"({KEPT})('/old/').then((has) => !has)")


def test_a_leader_has_the_call_and_a_member_their_absences_unopened(
    open_page: OpenPage, week: Week, rehearsal: Event
) -> None:
    leader = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = leader.go("/my-rank/")
    call = reverse("call-of-rank", args=[rehearsal.pk, week.band.ranks["1"].pk])
    wait_until_kept(page, call)
    member = open_page(week.cast.other, PHONE, service_workers="allow")
    page = member.go("/card/")
    wait_until_kept(page, "/my-absences/")
