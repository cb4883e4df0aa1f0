"""A file of every kind of import for the small band, and a season it has lived through."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from django.utils import timezone

from drill.absences.models import Absence
from drill.lineup.models import Backup
from drill.rehearsals.models import Practice
from drill.shows.models import Show
from roster.ranks.models import Holding
from tests.factories import Band, Cast
from tests.lib.imports_help import accept_file, csv_file

Rows = list[list[object]]
INSTRUMENTS: Rows = [
    ["instrument", "part", "code", "school instruments"],
    ["Brass", "Trumpet one", "trumpet", "5"],
    ["Sousaphone", "Sousaphone", "sousaphone", "9"],
    ["Flags", "Flags", "flags", ""],
]
MEMBERS: Rows = [
    ["student number", "legal name", "email", "phone", "years marched", "main part", "also plays",
     "own instruments", "status", "listed", "emergency contact", "cleared", "eligible"],
    ["004417", "Ana María Núñez", "ana@new.example", "555", "3", "trumpet", "clarinet", "Trumpet",
     "on leave", "no", "somebody", "until 2099-11-20", "no"],
    ["004427", "Kit Moss", "", "", "0", "clarinet", "trumpet", "", "on leave", "", "", "no", ""],
    ["004428", "Zed Quarry", "", "", "0", "clarinet", "trumpet", "", "left", "", "", "", ""],
    ["1E5", "Nour Qadir", "nour@new.example", "", "1", "sousaphone", "", "", "", "", "", "", ""],
]  # fmt: skip
RANKS: Rows = [
    ["spot", "part", "weight", "needs experience", "holder", "role"],
    ["1-1", "trumpet", "5", "yes", "Bo Larkspur", "leader"],
    ["1-2", "trumpet", "1", "no", "Ana Núñez", "assistant leader"],
    ["1-3", "trumpet", "1", "no", "Ida Voss", ""],
    ["1-5", "clarinet", "1", "no", "", ""],
    ["2-1", "trumpet", "1", "no", "Cai Ørnberg", "leader"],
    ["3-1", "clarinet", "2", "no", "Dee Quill", "leader"],
    ["3-2", "trumpet", "2", "no", "Fay Ashgrove", "assistant leader"],
]
ALTERNATES: Rows = [
    ["member", "rank", "part", "standing"],
    ["Kit Moss", "1", "trumpet", "1"],
    ["Jon Pell", "1", "trumpet", "2"],
    ["Ida Voss", "2", "trumpet", "1"],
    ["Zed Quarry", "2", "trumpet", ""],
]
EVENTS: Rows = [
    ["event", "kind", "venue", "date", "call time", "cut-off", "travel limit", "uniform", "field",
     "segment", "segment kind", "starts", "ends", "show"],
    ["Pellowick at home", "trip", "Mill Lane", "2099-10-17", "10:00", "2099-10-16 18:00", "90",
     "hat", "70 ft 9 in", "Halftime", "parade", "15:00", "15:30", "Sixty Lamps Afloat"],
    ["Lamplight Parade", "parade", "", "2099-10-24", "", "", "", "", "", "March", "parade", "18:00",
     "19:00", "Sixty Lamps Afloat"],
]  # fmt: skip
ABSENCES: Rows = [
    ["member", "event", "segment", "from", "until", "kind", "late until", "chance", "category"],
    ["Cai Ørnberg", "Pellowick at home", "Pregame", "", "", "out", "", "", "family"],
    ["Dee Quill", "", "", "2099-10-01", "2099-10-09", "doubtful", "", "0.35", "injury"],
    ["Eno Farrow", "Pellowick at home", "", "", "", "late", "14:30", "", ""],
]
COORDINATES: Rows = [
    ["show", "version", "set", "counts", "place", "x", "y"],
    ["Tidewheel", "1", "1", "0", "1-1", "-4", "28"],
    ["Tidewheel", "1", "2", "8", "1-1", "0.0014", "-0.3333"],
    ["Tidewheel", "1", "2", "8", "1-9", "2", "28"],
    ["Sixty Lamps Afloat", "October", "1", "0", "1-1", "0", "28"],
]
BACKUPS: Rows = [
    ["spot", "order", "member"],
    ["1-1", "2", "Ida Voss"],
    ["1-1", "1", "Jon Pell"],
    ["1-2", "1", "Kit Moss"],
]
PRACTICE: Rows = [
    ["member", "spot", "show", "sets"],
    ["Ida Voss", "1-1", "Tidewheel", "9"],
    ["Jon Pell", "1-2", "Tidewheel", "2"],
]
FILES = {
    "instruments": INSTRUMENTS,
    "members": MEMBERS,
    "ranks": RANKS,
    "alternates": ALTERNATES,
    "events": EVENTS,
    "absences": ABSENCES,
    "coordinates": COORDINATES,
    "backups": BACKUPS,
    "practice": PRACTICE,
}


@pytest.fixture
def lived(band: Band, cast: Cast) -> Band:
    """The small band in the middle of a season, with something for each kind to change."""
    band.season.starts = timezone.localdate() - datetime.timedelta(days=60)
    band.season.save()
    Holding.objects.update(starts=band.season.starts, note="from the tryout")
    band.member("Zed Quarry", "trumpet", "clarinet", cleared="until", cleared_until="2099-10-30")
    band.members["Kit Moss"].qualifications.create(part=band.parts["clarinet"])
    band.event.cut_off = datetime.datetime(2099, 10, 16, 23, 30, tzinfo=datetime.UTC)
    band.event.save()
    Absence.objects.create(
        member=band.members["Gus Tamm"],
        event=band.event,
        kind="doubtful",
        chance=Decimal("0.35"),
        reported_by=cast.staff,
    )
    show = Show.objects.get(name="Tidewheel")
    sets: Rows = [
        ["Tidewheel", "1", name, counts, place, x, "28"]
        for name, counts in (("1", "0"), ("1A", "4"), ("2", "12"))
        for x, place in enumerate(("1-1", "1-2", "1-3"))
    ]
    accept_file("coordinates", csv_file(COORDINATES[0], *sets), band.season, cast.staff, sure=True)
    for number, name in ((1, "Ida Voss"), (2, "Kit Moss")):
        Backup.objects.create(spot=band.spots["1-1"], member=band.members[name], order=number)
    Practice.objects.create(
        member=band.members["Ida Voss"], spot=band.spots["1-1"], show=show, sets=4
    )
    return band
