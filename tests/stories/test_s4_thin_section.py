"""S4: four spots, two alternates; who answers, who hangs on whom, and the one lesson."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.backups.models import BackupPlan, Lesson
from drill.lineup.models import Backup
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from tests.architecture.world import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def section(band: Band, cast: Cast) -> Band:
    """The band is this section alone: Quinn, Rosa, Theo, Uma; Xen and Yve stand by."""
    Holding.objects.all().delete()
    AlternatePlace.objects.all().delete()
    Spot.objects.all().delete()
    Rank.objects.all().delete()
    band.season.members.update(status="left")
    band.ranks["S"] = Rank.objects.create(season=band.season, label="S", order=1)
    for number, name in enumerate(("Quinn", "Rosa", "Theo", "Uma"), 1):
        band.spot("S", number, "trumpet", band.member(name, "trumpet"))
    for standing, name in enumerate(("Xen", "Yve"), 1):
        band.alternate("S", "trumpet", band.member(name, "trumpet", years=0), standing)
    for spot, names in (("S-1", ["Xen"]), ("S-2", ["Xen", "Yve"]), ("S-3", ["Quinn"])):
        for order, name in enumerate(names, 1):
            Backup.objects.create(spot=band.spots[spot], member=band.members[name], order=order)
    publish(band, cast.staff)
    return band


def test_the_page_says_who_answers(section: Band, cast: Cast, signed_in: SignIn) -> None:
    url = reverse("backups") + f"?rank={section.ranks['S'].pk}&pairs=yes"
    page = signed_in(cast.staff).get(url)
    lines = {line.spot.label: (line.state, line.words) for line, _ in page.context["lines"]}
    assert lines == {
        "S-1": ("thin", "Xen directly; hangs on Xen"),
        "S-2": ("safe", "Xen, Yve directly"),
        "S-3": ("thin", "by a chain: Quinn to S-3 from S-1, then Xen to S-1; hangs on Xen, Quinn"),
        "S-4": ("bare", "nobody answers"),
    }
    # Quinn and Theo cannot both be out; Rosa and Theo can.
    assert page.context["pairs"] == [("Pregame", ["Quinn, Theo"]), ("Halftime", ["Quinn, Theo"])]


def test_one_lesson_answers_every_single_absence(
    section: Band, cast: Cast, signed_in: SignIn
) -> None:
    page = signed_in(cast.staff).get(reverse("backups"))
    assert len(page.context["lessons"]) == 1 and page.context["lessons_proven"]
    assert ("Yve", "S-4") in page.context["alone"]
    Lesson.objects.create(
        plan=BackupPlan.objects.create(event=section.event),
        member=section.members["Yve"],
        spot=section.spots["S-4"],
    )
    page = signed_in(cast.staff).get(reverse("backups"))
    assert page.context["lessons"] == [] and page.context["hopeless"] == []


def test_the_plan_becomes_each_alternates_list(
    section: Band, cast: Cast, signed_in: SignIn, settings: object
) -> None:
    staff = signed_in(cast.staff)
    lock = {"member": section.members["Xen"].pk, "spot": section.spots["S-3"].pk}
    staff.post(reverse("lesson-add", args=[section.event.pk]), lock)
    form = {"lessons_each": 2, "chances_from": "season", "chance": "0.1"}
    staff.post(reverse("plan", args=[section.event.pk]), form)
    for job in waiting_jobs():
        run_job(job)
    plan = BackupPlan.objects.get()
    found = {(x.member.name, x.spot.label): x.locked for x in plan.lessons.all()}
    assert found[("Xen", "S-3")] is True, "what is locked stays"
    assert ("Yve", "S-4") in found or ("Xen", "S-4") in found
    assert all(sum(1 for m, _ in found if m == name) <= 2 for name in ("Xen", "Yve"))
    assert plan.figures["after"][0] < plan.figures["before"][0]
    page = staff.get(reverse("backups"))
    assert b"Open spots to expect" in page.content and not page.context["plan_stale"]

    from tests.factories.cast import account_of

    card = signed_in(account_of(section.members["Xen"])).get(reverse("card"))
    assert b"Learn this week" in card.content and b"S-3" in card.content
