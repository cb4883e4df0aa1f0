"""Words of files: asked about once, kept for the season, changed and forgotten on their page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from bandops.lib.imports.words import UnknownWord, Vocabulary, word_kind, words_of
from roster.people.models import Instrument, KeptWord, Member, Part
from tests.factories import Band, Cast
from tests.lib.import_files import FILES
from tests.lib.import_pages import SignedIn, staff
from tests.lib.imports_help import csv_file, plan_of, words
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("words are kept in the database")]
HEAD = ["legal name", "main part", "years marched", "status"]


@pytest.fixture
def messy(band: Band, staff: Client) -> Reviewer:
    """Five members, two of them with one unknown word for their part."""
    rows = [
        HEAD,
        ["Wren Abelard", "Trumpt", "5ish", "active"],
        ["Tove Birch", "Trumpt", "1", "active"],
        ["Lark Coombe", "clarinet", "5ish", "gone"],
        ["Ida Dunmore", "Kazoo", "2", "active"],
        ["Per Elms", "trumpet", "2", "active"],
    ]
    return Reviewer(staff, "members", csv_file(*rows))


def test_each_unknown_word_is_one_question_with_its_rows(messy: Reviewer) -> None:
    asked = messy.asked
    assert {text: (q.kind, q.count) for text, q in asked.items()} == {
        "Trumpt": ("part", 2),
        "5ish": ("years marched", 2),
        "gone": ("status", 1),
        "Kazoo": ("part", 1),
    }
    assert asked["Trumpt"].likely[0].label == "Trumpet"
    assert "4 words to explain" in messy.text


def test_an_answer_counts_for_all_rows_and_for_the_next_file(
    messy: Reviewer, band: Band, cast: Cast, staff: Client
) -> None:
    shown = messy.answer(Trumpt="means:trumpet", **{"5ish": "means:4"}, gone="means:left")
    assert "3 words kept for the season." in shown
    assert set(messy.asked) == {"Kazoo"}
    messy.answer(Kazoo="leave")
    assert not messy.asked
    said = messy.save()
    assert "4 added, 0 changed" in said
    wren = Member.objects.get(person__legal_name="Wren Abelard")
    assert (wren.years_marched, wren.qualifications.get().part.code) == (4, "trumpet")
    assert Member.objects.get(person__legal_name="Lark Coombe").status == "left"
    again = csv_file(HEAD, ["Zoe Fell", "TRUMPT.", "5ish", "Gone"])
    assert not plan_of("members", again, band.season, cast.staff).faults
    assert "“Trumpt” is Trumpet" in Reviewer(staff, "members", again).text


def test_a_part_can_be_added_where_it_is_missed(messy: Reviewer, band: Band) -> None:
    messy.answer(Kazoo="add")
    part = Part.objects.get(season=band.season, code="kazoo")
    assert (part.name, part.instrument.name) == ("Kazoo", "Kazoo")
    assert "Kazoo" not in messy.asked


def test_parts_that_are_not_there_come_from_the_words_of_a_file(band: Band, staff: Client) -> None:
    rows = [["name", "Instr."], ["Wren Abelard", "Bugle"], ["Tove Birch", "bugle"]]
    desk = Reviewer(staff, "members", csv_file(*rows))
    desk.answer(Bugle="add")
    desk.save()
    bugles = Member.objects.filter(qualifications__part__name="Bugle")
    assert bugles.count() == 2
    assert Instrument.objects.filter(name="Bugle").count() == 1


def test_a_value_that_was_not_offered_is_not_kept(messy: Reviewer) -> None:
    messy.answer(Trumpt="means:no-such-part", gone="means:")
    assert not KeptWord.objects.exists()


def test_a_word_kept_meanwhile_makes_a_preview_stale(
    messy: Reviewer, band: Band, cast: Cast
) -> None:
    messy.answer(Trumpt="means:trumpet", **{"5ish": "means:4"}, gone="means:left", Kazoo="leave")
    before = messy.plan.digest
    KeptWord.objects.filter(key="trumpt").update(value="sousaphone")
    assert "look at it again" in messy.save()
    assert messy.plan.digest != before
    assert not Member.objects.filter(person__legal_name="Wren Abelard").exists()


def test_a_word_that_stands_nowhere_in_the_file_leaves_the_preview_alone(
    band: Band, staff: Client
) -> None:
    desk = Reviewer(staff, "members", csv_file(HEAD, ["Per Elms", "trumpet", "2", ""]))
    before = desk.plan.digest
    KeptWord.objects.create(
        season=band.season, kind="part", text="Oboe", key="oboe", value="clarinet", label="Clarinet"
    )
    assert desk.client.get(desk.url).context["plan"].digest == before


def test_what_is_kept_is_changed_and_forgotten_on_its_page(
    messy: Reviewer, band: Band, staff: Client
) -> None:
    messy.answer(Trumpt="means:trumpet")
    url = reverse("import-words")
    word = {"kind": "part", "text": "Trumpt"}
    assert "“Trumpt”" in words(staff.get(url))
    said = words(staff.post(url, word | {"meaning": "means:sousaphone"}, follow=True))
    assert "“Trumpt” now means Sousaphone." in said
    assert words_of(band.season).of("part") == {"trumpt": "sousaphone"}
    entry = AuditEntry.objects.filter(table="people_keptword").first()
    assert entry is not None and entry.action == "keep words"
    staff.post(url, word | {"what": "forget"})
    assert not KeptWord.objects.exists()
    assert words_of(band.season).of("part") == {}


def test_a_meaning_that_is_gone_is_said_and_asked_again(
    messy: Reviewer, band: Band, cast: Cast, staff: Client
) -> None:
    messy.answer(Kazoo="add")
    Part.objects.filter(code="kazoo").delete()
    page = words(staff.get(reverse("import-words")))
    assert "gone: Kazoo" in page
    plan = plan_of("members", csv_file(HEAD, ["X Y", "Kazoo", "", ""]), band.season, cast.staff)
    assert [f.word and f.word.text for f in plan.faults] == ["Kazoo"]


def test_only_staff_see_and_change_words(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    for user in (cast.member, cast.leader, cast.evaluator):
        assert signed_in(user).get(reverse("import-words")).status_code == 403


UNKNOWN = {
    "members": ("main part", "part"),
    "ranks": ("role", "role"),
    "alternates": ("part", "part"),
    "events": ("kind", "kind of event"),
    "absences": ("kind", "kind of absence"),
    "backups": ("member", "member"),
    "practice": ("show", "show"),
}


@pytest.mark.parametrize("kind", UNKNOWN)
def test_every_kind_of_import_asks_about_its_words(kind: str, band: Band, cast: Cast) -> None:
    """Also one that nothing is like: it still can be chosen, or its rows be left out."""
    header, row, *_ = FILES[kind]
    column, word_kind = UNKNOWN[kind]
    cells = dict(zip(header, row, strict=True)) | {column: "Blunderbuss"}
    plan = plan_of(kind, csv_file(header, list(cells.values())), band.season, cast.staff)
    found = {f.word.kind for f in plan.faults if f.word and f.word.text == "Blunderbuss"}
    assert found == {word_kind}


def test_a_vocabulary_knows_its_labels_and_what_staff_said() -> None:
    sizes = Vocabulary("size", "size", {"s": "small", "l": "large"}, {"big": "l"})
    assert [sizes.find(text, {}, "") for text in ("S", "Large", "big")] == ["s", "l", "l"]
    assert sizes.find("wee", {"wee": "s"}, "") == "s"
    with pytest.raises(UnknownWord, match="what size") as unknown:
        sizes.find("smalll", {"smalll": "gone"}, "what size")
    assert unknown.value.choices[0].value == "s"


@pytest.mark.parametrize(
    ("kind", "row"), [("spot", "1-1 (Trumpet)"), ("rank", "Rank 2"), ("member", "Ida Voss")]
)
def test_words_for_places_and_people_can_be_given_any_of_the_season(
    kind: str, row: str, band: Band
) -> None:
    assert row in [choice.label for choice in word_kind(kind).choices(band.season)]
