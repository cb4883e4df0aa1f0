"""Words that can mean only one thing: read without being asked about, confirmed by saving."""

from __future__ import annotations

import pytest
from django.test import Client

from bandops.lib.imports.abbreviated import only_meant
from roster.people.models import Instrument, KeptWord, Member, Part
from roster.people.part_names import spelled_out
from tests.factories import Band
from tests.lib.import_pages import staff
from tests.lib.imports_help import csv_file
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("words are kept in the database")]
HEAD = ["legal name", "main part", "years marched", "status"]
ROWS = [
    ["Wren Abelard", "Trump", "2nd", "act"],
    ["Tove Birch", "Clari", "1st year", "leave"],
]


@pytest.fixture
def desk(band: Band, staff: Client) -> Reviewer:
    return Reviewer(staff, "members", csv_file(HEAD, *ROWS))


def add_part(band: Band, instrument: str, *names: str) -> None:
    kind = Instrument.objects.create(season=band.season, name=instrument)
    for name in names:
        code = name.lower().replace(" ", "-")
        Part.objects.create(season=band.season, instrument=kind, name=name, code=code)


def test_saving_is_the_only_click(desk: Reviewer) -> None:
    assert not desk.asked
    assert desk.read == {
        "Trump": "trumpet", "Clari": "clarinet", "2nd": "1", "1st year": "0",
        "act": "active", "leave": "on leave",
    }  # fmt: skip
    assert "6 words read without asking" in desk.text
    assert not KeptWord.objects.exists()
    assert "2 added" in desk.save()
    wren = Member.objects.get(person__legal_name="Wren Abelard")
    assert (wren.years_marched, wren.qualifications.get().part.code) == (1, "trumpet")
    assert KeptWord.objects.get(key="trump").value == "trumpet"


def test_what_is_read_can_be_changed(desk: Reviewer) -> None:
    desk.answer(Trump="means:sousaphone", act="leave")
    assert "act" not in desk.read
    desk.save()
    assert KeptWord.objects.get(key="trump").value == "sousaphone"
    assert not Member.objects.filter(person__legal_name="Wren Abelard").exists()


def test_a_refused_file_keeps_no_words(desk: Reviewer, band: Band) -> None:
    shown = desk.page.context["plan"].digest
    band.member("Tove Birch", "trumpet")
    desk.page = desk.client.post(desk.url, {"what": "accept", "digest": shown}, follow=True)
    assert "look at it again" in desk.text
    assert not KeptWord.objects.exists()


def test_what_is_uncertain_comes_first_and_stays_open(band: Band, staff: Client) -> None:
    desk = Reviewer(staff, "members", csv_file(HEAD, *ROWS, ["Per Elms", "Kazoo", "", ""]))
    assert set(desk.asked) == {"Kazoo"}
    assert desk.text.index("1 word to explain") < desk.text.index("words read without asking")
    desk.send("aside")
    assert "2 added" in desk.save()


def test_a_short_word_means_the_part_of_as_many_words(band: Band, staff: Client) -> None:
    add_part(band, "Bass clarinet", "Bass clarinet")
    add_part(band, "Mellophone", "First mellophone")
    add_part(band, "Baritone", "First baritone", "Second baritone")
    rows = [["A Bee", "Clari"], ["B Cee", "Mellophone"], ["C Dee", "Baritone"]]
    desk = Reviewer(staff, "members", csv_file(HEAD[:2], *rows))
    assert desk.read == {"Clari": "clarinet", "Mellophone": "first-mellophone"}
    assert set(desk.asked) == {"Baritone"}


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("lead", 0),
        ("assist", 1),
        ("asst", None),
        ("leader", 0),
        ("le", None),
        ("", None),
        ("x", None),
    ],
)
def test_only_a_beginning_tells_a_word(text: str, at: int | None) -> None:
    assert only_meant(text, ["leader", "assistant leader", "no role"]) == at


def test_usual_parts_are_added_with_one_click(band: Band, staff: Client) -> None:
    """What is chosen beforehand is sent as it stands; two words for one part add it once."""
    rows = [["A Bee", "Tbn"], ["B Cee", "Trombone"], ["C Dee", "Alto sax"], ["D Eff", "Kazoo"]]
    desk = Reviewer(staff, "members", csv_file(HEAD[:2], *rows))
    chosen = {text: "add" for text, question in desk.asked.items() if question.adds}
    assert {text: desk.asked[text].new_name for text in chosen} == {
        "Tbn": "Trombone", "Trombone": "Trombone", "Alto sax": "Alto saxophone",
    }  # fmt: skip
    assert desk.text.count('value="add" selected') == 3
    desk.answer(**chosen)
    assert set(desk.asked) == {"Kazoo"}
    assert Part.objects.filter(name="Trombone").count() == 1
    desk.answer(Kazoo="leave")
    assert "3 added" in desk.save()


def test_an_instrument_is_not_numbered_where_nobody_numbers_it(band: Band, staff: Client) -> None:
    """Parts that a list of common ones brought, and no member and no spot needs, are no
    question; those that somebody plays are."""
    add_part(band, "Trombone", "First trombone", "Second trombone")
    file = csv_file(HEAD[:2], ["A Bee", "Tbn"], ["B Cee", "Trombones"])
    desk = Reviewer(staff, "members", file)
    assert {q.new_name for q in desk.asked.values()} == {"Trombone"}
    assert all(q.adds for q in desk.asked.values())
    member = band.member("Lark Coombe", "trumpet")
    member.qualifications.update(part=Part.objects.get(name="First trombone"))
    desk = Reviewer(staff, "members", file)
    assert set(desk.asked) == {"Tbn", "Trombones"}
    assert not any(q.adds or q.preset for q in desk.asked.values())


@pytest.mark.parametrize(
    ("text", "name"),
    [("Tpt 1", "Trumpet 1"), ("2nd Clar", "2nd clarinet"), ("Trumpets", "Trumpet"),
     ("Snare", "Snare drum"), ("Tbone", "Trombone"), ("A. Sax 1", "Alto saxophone 1"),
     ("Quads", "Quads"), ("Drum Major", "Drum major"), ("B. Clar", "Bass clarinet"),
     ("Bass clarinet", "Bass clarinet"), ("Kazoo", ""), ("Trumpet lead", ""), ("2", "")],
)  # fmt: skip
def test_a_usual_part_is_spelled_out(text: str, name: str) -> None:
    assert spelled_out(text) == name
