"""On a machine without the PDF libraries everything else works, and it is said in plain words."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from importlib import import_module
from types import ModuleType

import pytest
from django.urls import reverse

from bandops import doctor
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import run_job
from bandops.lib.pdf import render
from drill.demo.management.commands.demo import Command
from drill.publishing.services.print_jobs import group_of
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast

BANNER = "could not import some external libraries"


@pytest.fixture
def tries(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The PDF library does not load, and prints its banner at each try."""
    made: list[str] = []

    def load(name: str, package: str | None = None) -> ModuleType:
        if name != "weasyprint":
            return import_module(name, package)
        made.append(name)
        print(BANNER)
        raise OSError("cannot load library")

    monkeypatch.setattr("importlib.import_module", load)
    render.can_print.cache_clear()
    yield made
    render.can_print.cache_clear()


def test_the_library_is_tried_once_and_its_banner_kept_away(
    tries: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert not any(render.can_print() for _ in range(3))
    assert tries == ["weasyprint"]
    assert capsys.readouterr() == ("", "")


@pytest.mark.django_db
def test_the_demo_says_once_that_there_are_no_prints(
    tries: list[str],
    band: Band,
    cast: Cast,
    capsys: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    lineup, out = publish(band, cast.staff), io.StringIO()
    for _ in range(2):
        Command(stdout=out)._print(lineup)
    lines = out.getvalue().splitlines()
    assert [line for line in lines if "rint" in line] == [lines[1], lines[3]]
    assert lines[1] == "Prints: none, the PDF libraries are missing (“make doctor” names them)."
    assert BANNER not in capsys.readouterr().out and not caplog.records
    waiting = Job.objects.filter(group=group_of(lineup), kind="publishing.print")
    assert {(job.error, job.attempts, job.done_at) for job in waiting} == {
        (render.NO_PRINTS, 0, None)
    }


@pytest.mark.django_db
def test_a_job_waits_and_the_revision_shows_why(tries: list[str], band: Band, cast: Cast) -> None:
    lineup = publish(band, cast.staff)
    for job in Job.objects.filter(kind="publishing.print"):
        assert not run_job(job.pk)
    page = client_of(cast, "staff").get(reverse("revision", args=[lineup.pk])).content.decode()
    assert "will try again: This server cannot make prints" in page
    assert not Artifact.objects.exists()


@pytest.mark.django_db
def test_a_page_asked_for_a_print_says_why_there_is_none(
    tries: list[str], band: Band, cast: Cast
) -> None:
    lineup, staff = publish(band, cast.staff), client_of(cast, "staff")
    slip = reverse("slip", args=[lineup.pk, band.members["Jon Pell"].pk])
    for address in (slip, reverse("study-sheet-file", args=["letter"])):
        assert "This server cannot make prints" in staff.get(address, follow=True).content.decode()


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
def test_the_fonts_without_harfbuzz_are_no_news(caplog: pytest.LogCaptureFixture) -> None:
    assert render.can_print()
    logger = logging.getLogger("weasyprint")
    logger.warning('Using fontTools instead of HarfBuzz-Subset for font "%s".', "Band Print")
    logger.warning("Ignored a property")
    assert caplog.messages == ["Ignored a property"]
