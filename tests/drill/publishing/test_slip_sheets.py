"""Slips: for whom, what to learn, whom to ask; all new ones of an event several to a sheet."""

from __future__ import annotations

import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.running import keep_pdf
from drill.field.services.writing import writer_of
from drill.gameday.services.fills import undo_change
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup, Lineup
from drill.publishing.models import Notice
from drill.publishing.pdf.slips import Told, render_slip_sheets, render_slips
from drill.publishing.services.briefings import Briefing, briefings
from drill.publishing.services.print_jobs import group_of
from drill.publishing.services.slips import count_slips, slips_told
from drill.rehearsals.models import PracticeEntry
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from roster.people.enums import Paper
from roster.people.models import Season
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import ask, wish
from tests.drill.publishing.revision_prints import A4, LETTER, publish, tags, texts
from tests.factories import Band, Cast
from tests.factories.cast import account_of

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]
CAI, IDA, JON = "Cai Ørnberg", "Ida Voss", "Jon Pell"
STEP = 720
FAR = {1: 2, 2: 8, 3: 5, 4: 11, 5: 1, 6: 7}
"""set -> steps of 1-3 from 1-2, the nearest dot that Ida knows"""


def add_drill(band: Band) -> None:
    """Tidewheel in six sets; Ida practised 1-2 in all of them."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    dots = {label: Dot.objects.create(show=show, label=label) for label in band.spots}
    for number in FAR:
        one = DrillSet.objects.create(version=version, order=number, label=str(number), counts=8)
        for at, (label, dot) in enumerate(dots.items()):
            x = FAR[number] * STEP if label == "1-3" else 0
            y = 0 if label in ("1-2", "1-3") else 30 * STEP + at * STEP
            Position.objects.create(set=one, dot=dot, x=x, y=y)
    entry = PracticeEntry.objects.create(
        event=band.event,
        member=band.members[IDA],
        spot=band.spots["1-2"],
        show=show,
        noted_at=timezone.now(),
    )
    entry.sets.set(version.sets.all())


@pytest.fixture
def changed(band: Band, cast: Cast) -> Lineup:
    """Revision 2: Cai is out and Ida steps in at 1-3; Jon is a backup for it."""
    add_drill(band)
    Backup.objects.create(spot=band.spots["1-3"], member=band.members[JON], order=1)
    publish(band, cast)
    ask(band, cast, wish(band, CAI, IDA))
    return newest(band)


def newest(band: Band) -> Lineup:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    return lineup


def briefing(band: Band, lineup: Lineup, name: str = IDA) -> list[Briefing]:
    member = band.members[name]
    writer = writer_of(band.season, band.event.field_type)
    return briefings(lineup, [member], writer).get(member.pk, [])


def sheets(lineup: Lineup, told: Told, paper: str = "letter") -> PdfReader:
    return PdfReader(io.BytesIO(render_slip_sheets(lineup, told, paper)))


def told_names(lineup: Lineup, *, again: bool = False) -> dict[str, int]:
    """Whose slip tells how many notices."""
    found = slips_told(lineup.event, again=again)
    return {member.name: len(notices) for member, notices in found.items()}


def test_for_whom_and_whom_to_ask(band: Band, changed: Lineup) -> None:
    [found] = briefing(band, changed)
    assert (str(found.spot), found.where, found.for_whom) == ("1-3", "Pregame, Halftime", CAI)
    assert found.ask == (
        ("Ana Núñez", "leads the rank"),
        ("Bo Larkspur", "marches beside you, 1-2"),
        (JON, "backup for your spot"),
    )


def test_the_hardest_set_is_learned_first(band: Band, changed: Lineup) -> None:
    [learn] = briefing(band, changed)[0].learn
    assert (learn.load.new, learn.load.total) == (6, 6)
    farthest = sorted(FAR, key=lambda number: -FAR[number])
    assert [line[0] for line in learn.lines] == [str(number) for number in farthest]
    assert "11 steps from 1-2" in learn.lines[0][3]


def test_whoever_is_at_home_needs_no_briefing(band: Band, changed: Lineup) -> None:
    assert briefing(band, changed, "Bo Larkspur") == [] == briefing(band, changed, JON)


def test_many_briefings_ask_no_more_often(band: Band, cast: Cast, changed: Lineup) -> None:
    ask(band, cast, wish(band, "Bo Larkspur", JON, 2))
    lineup, writer = newest(band), writer_of(band.season, band.event.field_type)
    counts = []
    assert lineup.event.season == band.season, "read beforehand"
    for names in ([IDA], [IDA, JON]):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert len(briefings(lineup, [band.members[n] for n in names], writer)) == len(names)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_slip_says_it_without_anybodys_phone(band: Band, changed: Lineup) -> None:
    for member in band.members.values():
        member.phone = "555-0142"
        member.save()
    content = render_slips(changed, [band.members[IDA]], "letter")
    [page] = texts(PdfReader(io.BytesIO(content)))
    assert f"You stand in at 1-3 for {CAI}" in page
    assert page.index("11 steps from 1-2") < page.index("8 steps from 1-2")
    assert "Ask: Ana Núñez (leads the rank), Bo Larkspur" in page and "555-0142" not in page


def test_the_card_says_the_same(band: Band, cast: Cast, changed: Lineup) -> None:
    client = client_of(cast, "member")
    client.force_login(
        account_of(band.members[IDA]), backend="django.contrib.auth.backends.ModelBackend"
    )
    page = text(client.get(reverse("card-of", args=[band.event.pk])))
    assert f"You stand in at 1-3 for {CAI}" in page and "Jon Pell, backup for your spot" in page
    assert page.index("11 steps from 1-2") < page.index("8 steps from 1-2")
    cai = text(client_of(cast, "member").get(reverse("card-of", args=[band.event.pk])))
    assert "You stand in at" not in cai


def test_new_slips_are_of_revisions_after_the_first(band: Band, cast: Cast) -> None:
    lineup = publish(band, cast)
    assert told_names(lineup, again=True) == {}
    ask(band, cast, wish(band, CAI, IDA))
    assert {CAI, IDA} <= told_names(lineup).keys()
    assert count_slips(band.event).new == count_slips(band.event).all == len(told_names(lineup))


def test_one_tap_prints_the_new_ones_once(band: Band, cast: Cast, changed: Lineup) -> None:
    staff, url = client_of(cast, "staff"), reverse("slips-print", args=[band.event.pk])
    told = count_slips(band.event).new
    assert f"Print {told} new slips" in text(staff.get(reverse("desk-of", args=[band.event.pk])))
    first = staff.post(url)
    assert first["Content-Type"] == "application/pdf"
    page = " ".join(texts(PdfReader(io.BytesIO(first.content))))
    assert CAI in page and IDA in page
    assert count_slips(band.event).new == 0
    again = text(staff.post(url, follow=True))
    assert "All slips are printed: no slips to print." in again
    ask(band, cast, wish(band, "Gus Tamm", "Kit Moss", 2))
    second = " ".join(texts(PdfReader(io.BytesIO(staff.post(url).content))))
    assert "Kit Moss" in second and "You stand in at 1-3" not in second
    everything = staff.post(url, {"which": "all"})
    page = " ".join(texts(PdfReader(io.BytesIO(everything.content))))
    assert "Kit Moss" in page and "You stand in at 1-3" in page


def slip_of(band: Band, name: str) -> str:
    """The slip for somebody as it would be printed now."""
    told = {m: n for m, n in slips_told(band.event, again=False).items() if m.name == name}
    [page] = texts(sheets(newest(band), told))
    return page


def test_what_later_revisions_took_back_is_told_shortly(
    band: Band, cast: Cast, changed: Lineup
) -> None:
    """Ida steps in by revision 2 and is out by revision 3: she stays where she was."""
    ask(band, cast, wish(band, IDA, JON, 2))
    assert told_names(newest(band))[IDA] == 2
    page = slip_of(band, IDA)
    assert "No longer: Pregame, Halftime 1-3. You do not march" in page
    assert "you march 1-3" not in page and "You stand in at" not in page
    assert "you march 1-3" in slip_of(band, JON)
    leader = slip_of(band, "Ana Núñez")
    assert "Jon Pell steps in at 1-3" in leader and "Ida Voss steps" not in leader


def test_whoever_is_back_on_their_spot_stays_there(band: Band, cast: Cast, changed: Lineup) -> None:
    undo_change(actor=cast.staff, change=changed.day_changes.get())
    page = slip_of(band, CAI)
    assert "Pregame, Halftime: you stay at 1-3 after all" in page
    assert "you do not march" not in page and "Rev 3," in page


def test_a_slip_of_a_replaced_revision_says_what_the_newest_says(
    band: Band, cast: Cast, changed: Lineup
) -> None:
    ask(band, cast, wish(band, IDA, JON, 2))
    staff = client_of(cast, "staff")
    answer = staff.get(reverse("slip", args=[changed.pk, band.members[IDA].pk]))
    [page] = texts(PdfReader(io.BytesIO(answer.content)))
    assert "Rev 3," in page and "No longer: Pregame, Halftime 1-3." in page
    assert "you march 1-3" not in page


def test_the_slips_made_with_a_replaced_revision_are_not_handed_out(
    band: Band, cast: Cast, changed: Lineup
) -> None:
    staff = client_of(cast, "staff")
    keep_pdf("some", group_of(changed), "Slips", "slips-letter-r2.pdf", b"%PDF-1.7")
    made = Artifact.objects.get(key="some")
    url, page = reverse("file", args=[made.pk]), reverse("revision", args=[changed.pk])
    assert url in text(staff.get(page))
    assert staff.get(url)["Content-Type"] == "application/pdf"
    ask(band, cast, wish(band, IDA, JON, 2))
    assert url not in text(staff.get(page))
    assert "from an older revision" in text(staff.get(url, follow=True))


def test_sheets_are_filled_before_a_new_one_begins(band: Band, cast: Cast, changed: Lineup) -> None:
    """A long slip beside a short one leaves no gap."""
    ask(band, cast, wish(band, "Gus Tamm", "Kit Moss", 2))
    ask(band, cast, wish(band, "Bo Larkspur", JON, 3))
    ask(band, cast, wish(band, "Hal Brook", None, 4))
    told = slips_told(band.event, again=True)
    pages = texts(sheets(newest(band), told))
    assert [page.count("What changed") for page in pages] == [5, 4]


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
def test_several_share_a_sheet_and_each_says_what_it_is_of(
    band: Band, changed: Lineup, paper: str, size: tuple[int, int]
) -> None:
    told = slips_told(band.event, again=True)
    reader = sheets(changed, told, paper)
    assert len(reader.pages) < len(told), "fewer sheets than slips"
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
    words = " ".join(texts(reader))
    assert words.count("Rev 2,") == words.count("What changed") == len(told)
    assert all(member.name in words for member in told)
    assert tags(reader).count("/Figure") == len(told), "each with its own code"


def test_printing_is_for_staff_and_by_the_season_s_paper(
    band: Band, cast: Cast, changed: Lineup
) -> None:
    url = reverse("slips-print", args=[band.event.pk])
    for role in ("leader", "member", "equipment"):
        assert client_of(cast, role).post(url).status_code == 403
    assert not Notice.objects.filter(slip_printed_at__isnull=False).exists()
    Season.objects.update(paper=Paper.A4)
    page = PdfReader(io.BytesIO(client_of(cast, "staff").post(url).content)).pages[0]
    assert round(page.mediabox.width) == A4[0]
