"""The problem that pages only show: what lasts is read once, who is absent each time."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.recording import recorded
from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.fundamentals.models import PassedFundamental
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.problem_builder import build, build_to_show
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db(transaction=True)


def mark_out(band: Band, cast: Cast, name: str) -> None:
    values = {"kind": AbsenceKind.OUT, "event": band.event}
    report = Report(band.members[name], values)
    report_absence(actor=cast.staff, report=report, by_staff=True)


def test_an_absence_changes_who_is_away_and_reads_nothing_else_again(
    band: Band, cast: Cast
) -> None:
    before = build_to_show(band.event)
    mark_out(band, cast, "Cai Ørnberg")
    after = build_to_show(band.event)
    away = {m.key: m.away for m in after.problem.members}
    assert away[key(band.members["Cai Ørnberg"].pk)]
    assert after.problem.relearning is before.problem.relearning
    assert after.problem == build(band.event).problem


def test_anything_else_is_read_again(band: Band, cast: Cast) -> None:
    before = build_to_show(band.event)
    with recorded(cast.staff, "pass fundamental"):
        PassedFundamental.objects.create(
            member=band.members["Jon Pell"], code="forward", passed_on=band.event.date
        )
    after = build_to_show(band.event)
    assert after.problem.relearning is not before.problem.relearning
    with recorded(cast.staff, "change rank"):
        band.spots["1-1"].needs_experience = True
        band.spots["1-1"].save()
    assert build_to_show(band.event).problem == build(band.event).problem


def test_the_proposal_after_an_absence_is_that_of_the_facts(band: Band, cast: Cast) -> None:
    open_draft(actor=cast.staff, event=band.event)
    staff: Client = client_of(cast, "staff")
    url = reverse("proposal", args=[band.event.pk])
    assert staff.get(url).context["digest"] == build(band.event).problem_hash
    mark_out(band, cast, "Cai Ørnberg")
    page = staff.get(url)
    assert page.context["digest"] == build(band.event).problem_hash
    assert any("Ørnberg" in str(change) for change in page.context["changes"])
