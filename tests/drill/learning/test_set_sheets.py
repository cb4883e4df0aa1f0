"""Set sheets of spots, on the page and on paper, and what an alternate has to learn."""

from __future__ import annotations

import base64
import io
import uuid
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import run_job
from drill.backups.models import BackupPlan, Lesson
from drill.field.services.writing import writer_of
from drill.learning.pdf import chosen, paper_picture, render_rank_sheets
from drill.learning.services.set_sheets import set_sheets
from drill.learning.services.sheet_jobs import KIND
from drill.lineup.models import Backup
from drill.shows.models import DotMap, DrillSet, Show, ShowVersion
from drill.shows.pdf import paper_image
from drill.shows.services.motion import frames_of
from tests.architecture.world import publish
from tests.drill.shows.show_pages import SignIn, show
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db
needs_pdf = pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")


def test_a_sheet_is_for_those_who_work_on_the_spot(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    spot, jon = band.spots["1-2"], band.members["Jon Pell"]
    url = reverse("set-sheet", args=[show.pk, spot.pk])
    for allowed in (cast.staff, cast.leader):
        assert signed_in(allowed).get(url).status_code == 200
    from tests.factories.cast import account_of

    client = signed_in(account_of(jon))
    assert client.get(url).status_code == 403
    Backup.objects.create(spot=spot, member=jon, order=1)
    page = client.get(url)
    assert page.status_code == 200 and b">1A</a>" in page.content
    assert page["X-Offline-Copy"], "it is kept for the field"
    assert client.get(reverse("set-sheet-print", args=[show.pk, spot.pk])).status_code == 200


def test_a_spot_that_marches_another_dot_has_that_dots_sheet(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    spot = band.spots["1-2"]
    DotMap.objects.create(show=show, spot=spot, dot=show.dots.get(label="1-10"))
    page = signed_in(cast.staff).get(reverse("set-sheet", args=[show.pk, spot.pk]))
    assert page.context["sheet"].dot == "1-10"
    assert page.context["sheet"].sets[0].across == "side 2, 4 outside the 45"


def test_a_spot_that_does_not_stand_in_the_show_says_so(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    url = reverse("set-sheet", args=[show.pk, band.spots["2-1"].pk])
    assert b"This spot has no dot in this version" in signed_in(cast.staff).get(url).content


@needs_pdf
def test_the_sheets_of_a_rank_on_paper(band: Band, show: Show) -> None:
    for paper in ("letter", "a4"):
        content = render_rank_sheets(band.ranks["1"], show.versions.get(), paper)
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
        assert len(pages) == 3
        assert "1-2 Trumpet, Rank 1" in pages[1]
        assert "Across" in pages[1] and "8 behind the front hash" in pages[1]
        assert "16 steps in 16 counts, 8.0-to-5" in pages[1]


def test_a_worker_makes_the_sheets_of_each_rank(
    band: Band, show: Show, cast: Cast, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A job a rank; the page says how many are done; sent twice they are asked for once."""
    monkeypatch.setattr("drill.learning.jobs.render_rank_sheets", _no_pdf)
    staff, url = signed_in(cast.staff), reverse("set-sheets", args=[show.pk])
    key = str(uuid.uuid4())
    for _ in range(2):
        assert staff.post(url, {"key": key}).status_code == 302
    one, two = Job.objects.filter(kind=KIND).order_by("pk")
    assert b"0 of 2 ranks done" in staff.get(url).content
    assert run_job(one.pk) and b"1 of 2 ranks done" in staff.get(url).content
    assert run_job(two.pk) and not run_job(two.pk)
    page = staff.get(url)
    assert [f.title.split(",")[:2] for f in page.context["files"]] == [
        ["Tidewheel", " Rank 1"],
        ["Tidewheel", " Rank 2"],
    ]
    assert page.context["jobs_open"] == 0


def test_a_leader_has_the_sheets_of_their_own_rank(
    band: Band, show: Show, cast: Cast, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drill.learning.jobs.render_rank_sheets", _no_pdf)
    leader = signed_in(cast.leader)
    mine, others = (
        reverse("set-sheets-of-rank", args=[show.pk, band.ranks[label].pk]) for label in "12"
    )
    assert leader.get(others).status_code == 403 and leader.post(others).status_code == 403
    assert leader.get(reverse("set-sheets", args=[show.pk])).status_code == 403
    signed_in(cast.staff).post(reverse("set-sheets", args=[show.pk]), {"key": uuid.uuid4()})
    for job in Job.objects.filter(kind=KIND):
        run_job(job.pk)
    (file,) = leader.get(mine).context["files"]
    files = {f.key: f for f in Artifact.objects.all()}
    for made in files.values():
        answer = leader.get(reverse("set-sheets-file", args=[show.pk, made.pk]))
        assert answer.status_code == (200 if made == file else 403)
    assert len(files) == 2
    leader.post(mine, {"key": uuid.uuid4()})
    assert leader.get(mine).context["jobs_open"] == 1, "their own asking is the newest"


def _no_pdf(*about: object) -> bytes:
    return b"%PDF"


def test_the_pictures_of_a_sheet_are_drawn_on_paper(band: Band, show: Show) -> None:
    """A picture that is no whole XML would be left out of the print without a word."""
    writer = writer_of(band.season, show.field_type)
    version = show.versions.get()
    frames = frames_of(version, band.season)
    (sheet,) = set_sheets(frames, version, [band.spots["1-2"]], writer)
    assert chosen(sheet) == [0, 1, 2]
    for index in chosen(sheet):
        picture = paper_picture(frames, index, sheet.dot, writer)
        kind, content = paper_image(picture).split(",")
        assert kind == "data:image/svg+xml;base64"
        drawn = ElementTree.fromstring(base64.b64decode(content))
        words = [text.text for text in drawn.findall("{*}text")]
        assert "back" in words and "side 2" in words and "1-2" in words
        assert "1-1" in words or "1-3" in words, "the spot's neighbours"


def test_the_sheet_stays_that_of_the_published_lineup(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    publish(band, cast.staff)
    newer = ShowVersion.objects.create(show=show, label="two", order=2)
    DrillSet.objects.create(version=newer, order=1, label="1")
    url = reverse("set-sheet", args=[show.pk, band.spots["1-2"].pk])
    assert signed_in(cast.staff).get(url).context["version"].label == "one"


def test_what_an_alternate_has_to_learn(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    gus, spot = band.members["Gus Tamm"], band.spots["1-2"]
    Lesson.objects.create(plan=BackupPlan.objects.create(event=band.event), member=gus, spot=spot)
    url = reverse("relearn", args=[band.event.pk, spot.pk, gus.pk])
    page = signed_in(cast.staff).get(url)
    ((study, chart),) = page.context["studies"]
    assert [row.title for row in chart.rows] == ["Set 1", "Set 1A", "Set 2"]
    assert study.words == "3 of 3 sets new"
    assert study.lines[0] == (
        "1",
        "side 2, 4 outside the 50",
        "12 in front of the front hash",
        "no dot to start from",
    )
    ana = band.members["Ana Núñez"]
    held = reverse("relearn", args=[band.event.pk, band.spots["1-3"].pk, ana.pk])
    ((other, _),) = signed_in(cast.staff).get(held).context["studies"]
    assert other.words.startswith("3 of 3 sets new, farthest ")
    assert signed_in(cast.other).get(url).status_code == 403
