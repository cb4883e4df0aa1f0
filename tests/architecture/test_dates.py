"""One way to write days and times, 'Sat, Oct 3, 2099, 7:30 PM', on every page and print."""

from __future__ import annotations

import datetime
import html
import re
from pathlib import Path

import pytest
from django.template import Context, Template
from django.urls import reverse

from bandops.lib.dates import dated_words, day_words, short_day, stamp_words, weekday_words
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence
from drill.challenges.models import ChallengeRound, ProtectedSpot
from drill.events.models import Event
from roster.people.models import Member, Season
from roster.people.services.seasons import change_season
from tests.architecture.access_table import TABLE
from tests.architecture.world import World, client_of, url_of
from tests.factories import Band, Cast

ROOT = Path(__file__).parents[2]
SOURCE = ("bandops", "roster", "drill")
MONTH = (
    "(?:January|February|March|April|May|June|July|August|September|October|November|December"
    "|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sept|Sep|Oct|Nov|Dec)"
)
FULL = (
    "(?:January|February|March|April|June|July|August|September|October|November|December)(?= \\d)"
)
WEEKDAY = "(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)"
OTHER = {
    "the day before the month": re.compile(rf"\b\d{{1,2}} {MONTH}\b"),
    "a month in full": re.compile(rf"\b(?!May\b){FULL}\b"),
    "September cut off otherwise": re.compile(r"\bSept\b"),
    "a nought before the day": re.compile(rf"\b{MONTH} 0\d\b"),
    "a weekday without its comma": re.compile(rf"\b{WEEKDAY} {MONTH}\b"),
    "by 24 hours": re.compile(r"\b(?:[01]?\d|2[0-3]):[0-5]\d(?!:?\d)(?!\s*(?:[AP]M|to ))\b"),
    "as in files": re.compile(r"\b\d{4}-\d{2}-\d{2}\b"),
    "with strokes": re.compile(r"\b\d{1,2}/\d{1,2}/\d{2,4}\b"),
}
EXAMPLES = {"import-columns", "api-docs"}
"""pages that tell how files write dates, and one that is for programs"""


def visible(page: str) -> str:
    """What a reader sees: no attributes, scripts or names of files."""
    page = re.sub(r"(?s)<(script|style|textarea)\b.*?</\1>", " ", page)
    text = html.unescape(re.sub(r"<[^>]*>", " ", page))
    return re.sub(r"\S+\.(pdf|csv|xlsx|txt)\b", " ", text)


def others(text: str) -> list[str]:
    return [f"{kind}: {m[0]}" for kind, found in OTHER.items() for m in found.finditer(text)]


def test_what_counts_as_another_way() -> None:
    for text in (
        "Dec. 31, 2099 19:30",
        "3 Oct 2099",
        "October 3",
        "Sept 3",
        "Oct 03",
        "Sat Oct 3",
        "14:18 PST",
        "2099-10-03",
    ):
        assert others(text), text
    day = datetime.datetime(2099, 9, 3, 19, 30, tzinfo=datetime.UTC)
    ways = [day_words(day), short_day(day), weekday_words(day), dated_words(day), stamp_words(day)]
    assert ways == [
        "Sep 3, 2099",
        "Sep 3",
        "Thu, Sep 3",
        "Thu, Sep 3, 2099",
        "Thu, Sep 3, 2099, 7:30 PM UTC",
    ]
    assert not [other for text in ways for other in others(text)]


def test_a_date_without_a_word_about_it_is_written_alike() -> None:
    moment = datetime.datetime(2099, 9, 3, 19, 30)
    context = Context({"day": moment.date(), "moment": moment})
    for template in ("{{ day }}", "{{ day|full_day }}", "{% load l10n %}{{ day|localize }}"):
        assert Template(template).render(context) == "Sep 3, 2099"
    assert Template("{{ moment }}").render(context) == "Sep 3, 2099, 7:30 PM"


def dates_everywhere(band: Band, cast: Cast) -> None:
    """Days and moments wherever a page may show some; single digits tell more."""
    day = datetime.date(2099, 10, 5)
    values = {"kind": AbsenceKind.OUT, "from_date": day, "until_date": datetime.date(2099, 11, 2)}
    values["review_date"] = datetime.date(2099, 10, 9)
    for name in ("Cai Ørnberg", "Dee Quill"):
        report = Report(band.members[name], dict(values))
        report_absence(actor=cast.staff, report=report, by_staff=True)
    assert Absence.objects.filter(review_date__isnull=False).count() == 2
    Member.objects.update(cleared="until", cleared_until=day, eligible="until", eligible_until=day)
    ProtectedSpot.objects.update(until=day)
    cut_off = datetime.datetime(2099, 10, 2, 18, tzinfo=datetime.UTC)
    Event.objects.update(cut_off=cut_off)
    assert ChallengeRound.objects.exists()
    season = Season.objects.get(is_current=True)
    change_season(actor=cast.director, season=season, values={"ends": datetime.date(2099, 12, 5)})


@pytest.mark.walk
def test_every_page_writes_dates_alike(world: World, band: Band, cast: Cast) -> None:
    dates_everywhere(band, cast)
    wrong, dated = [], 0
    for role in ("director", "member", "leader"):
        client = client_of(cast, role)
        for name, row in TABLE.items():
            if row.get == "ok" and name not in EXAMPLES:
                response = client.get(url_of(name, world))
                if response.get("Content-Type", "").startswith("text/html"):
                    text = visible(response.content.decode())
                    dated += bool(re.search(rf"\b{MONTH} [1-9]\d?\b", text))
                    wrong += [f"{role}, {name}: {other}" for other in others(text)]
    assert dated > 40, "the pages show dates"
    assert not wrong, "\n".join(sorted(set(wrong)))


@pytest.mark.django_db
def test_refusals_write_dates_alike(band: Band, cast: Cast) -> None:
    client = client_of(cast, "staff")
    told = {"name": "Away", "date": "2100-01-09"}
    page = client.post(reverse("event-copy", args=[band.event.pk]), told).content.decode()
    assert "Jan 9, 2100 is outside the season (Aug 10, 2099 to Dec 20, 2099)." in page


WRITES = {
    "bandops/lib/dates.py": "writes them all",
    "bandops/lib/web/forms.py": "what browsers' own fields take",
    "bandops/lib/audit/triggers.py": "the database's own clock",
    "bandops/lib/imports/values.py": "reads what people write",
    "bandops/lib/imports/days.py": "reads what people write",
    "drill/events/exports.py": "files, which other programs read",
    "drill/absences/exports.py": "files, which other programs read",
    "drill/demo/management/commands/load_demo.py": "names that hold a day",
}
"""modules that may form a day or a time, and why"""
STRAY = re.compile(
    r"strftime|utils\.dateformat|date_format\(|time_format\(|\.ctime\(|%H:%M|%-?[dIM]\b"
    r"|\{[^}{]*:%[aAbBdHIMpYmjS]"
)
NEAR_CLOCK = re.compile(r"localdate\(\)|localtime\(|date\.today\(\)|datetime\.now\(\)|utcnow")


def test_no_template_writes_days_and_times_by_itself() -> None:
    """Prints and mails as well, which no page shows. (Machines read ``now 'c'``, ``now 'T'``.)"""
    wrong = []
    own = re.compile(r"\|(?:date|time|localtime|timezone|naturaltime)\b(?!=)|\{% now (?!'[cT]')")
    for path in (p for app in SOURCE for p in (ROOT / app).rglob("templates/**/*.*")):
        found = own.findall(path.read_text(encoding="utf-8"))
        wrong += [f"{path}: {word}" for word in found]
    assert not wrong, "\n".join(wrong)


def lines_with(pattern: re.Pattern[str]) -> list[tuple[str, str]]:
    """(module, line) of the product's code."""
    return [
        (str(path.relative_to(ROOT)), line.strip())
        for app in SOURCE
        for path in sorted((ROOT / app).rglob("*.py"))
        if "migrations" not in path.parts
        for line in path.read_text(encoding="utf-8").splitlines()
        if pattern.search(line)
    ]


def test_one_module_writes_days_and_times() -> None:
    found = lines_with(STRAY)
    assert {name for name, _ in found} >= {"bandops/lib/dates.py"}, "the test finds them"
    assert not [f"{name}: {line}" for name, line in found if name not in WRITES]


def test_no_code_asks_the_servers_clock_which_day_it_is() -> None:
    """A season's ``today`` and an event's are days by their own clocks."""
    known = {"bandops/lib/pdf/stamps.py", "roster/people/management/commands/init_band.py"}
    assert not [f"{name}: {line}" for name, line in lines_with(NEAR_CLOCK) if name not in known]
