"""Fundamentals, words against coordinates, study sheets and sequences through their pages."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.errors import Refused
from drill.core.field import UNITS_PER_STEP
from drill.core.fundamentals import definition_of
from drill.models import (
    DrillSet,
    EvaluationSequence,
    Fundamental,
    PassedFundamental,
    Path,
    Place,
    Position,
    Show,
    ShowVersion,
)
from drill.services.fundamentals import built_in, fundamentals_of, save_fundamental
from drill.services.sequences import groups_of, make_sequence
from roster import queries as roster
from roster.models import Member
from tests.answers import Response, text
from tests.conftest import BACKEND
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

HOP = {"name": "hop", "also": ["hops"], "counts": 2, "path": [[0, 0.5]]}


@pytest.fixture
def staff(cast: Cast) -> Client:
    made = Client()
    made.force_login(cast.staff, backend=BACKEND)
    return made


def pdf_text(response: Response) -> str:
    pages = PdfReader(io.BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


# Own fundamentals


def form_of(staff: Client, code: str, **changed: object) -> dict[str, object]:
    """What the form of a fundamental would send."""
    response = staff.get(reverse("fundamental-edit", args=[code]))
    initial = response.context["form"].initial
    sent = {k: v for k, v in initial.items() if v is not None and v is not False}
    return {**sent, **changed}


def test_the_bands_own_way_of_the_box_goes_to_the_right(staff: Client, band: Band) -> None:
    url = reverse("fundamental-edit", args=["box-to-the-rear"])
    sent = form_of(staff, "box-to-the-rear", other_side="on", turn_after="0, 90, 180, 180")
    assert staff.post(url, sent).status_code == 302
    it = fundamentals_of(band.season)["box-to-the-rear"]
    assert it.vectors[1] == (1, 1)
    assert it.turn_after == (0, 90, 180, 180)
    assert "our way" in text(staff.get(reverse("fundamentals")))
    staff.post(reverse("fundamental-remove", args=["box-to-the-rear"]))
    assert fundamentals_of(band.season) == built_in()


@pytest.mark.parametrize("code", ["left-flank", "halt", "slow-turn-right", "spin-turn"])
def test_saving_a_form_as_it_stands_changes_nothing(staff: Client, band: Band, code: str) -> None:
    sent = form_of(staff, code)
    assert staff.post(reverse("fundamental-edit", args=[code]), sent).status_code == 302
    assert fundamentals_of(band.season)[code] == built_in()[code]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"path": "0 1"}, "“0 1” is no step"),
        ({"path": "0, x"}, "“x” is not a number"),
        ({"path": "0, 1\n0, 1"}, "2 steps do not fit 4 counts"),
        ({"turn_after": "45, 90"}, "one angle a count"),
        ({"also": "lf"}, "“lf” means left flank already"),
        ({"counts": "-1"}, "greater than or equal to 0"),
    ],
)
def test_a_wrong_definition_says_what_is_wrong(
    staff: Client, changed: dict[str, str], says: str
) -> None:
    sent = form_of(staff, "box-to-the-rear", **changed)
    page = text(staff.post(reverse("fundamental-edit", args=["box-to-the-rear"]), sent))
    assert says in page
    assert not Fundamental.objects.exists()


def test_a_new_one_is_understood_in_words_and_removed(
    staff: Client, band: Band, cast: Cast
) -> None:
    made = save_fundamental(actor=cast.staff, season=band.season, definition=HOP)
    assert made.code == "hop"
    with pytest.raises(Refused, match="already"):
        save_fundamental(actor=cast.staff, season=band.season, definition=HOP)
    make_sequence(
        actor=cast.staff,
        season=band.season,
        label="Hops",
        codes=["hop", "to-the-rear"],
        counts=16,
        square=16,
        groups=1,
        seed=1,
    )
    staff.post(reverse("fundamental-remove", args=["hop"]))
    assert Fundamental.objects.filter(code="hop").exists(), "a sequence uses it"
    EvaluationSequence.objects.all().delete()
    staff.post(reverse("fundamental-remove", args=["hop"]))
    assert not Fundamental.objects.exists()


def test_built_in_definitions_survive_their_own_writing() -> None:
    assert all(definition_of(it)["code"] == code for code, it in built_in().items())


# Who has passed


def test_passing_is_noted_in_bulk_and_taken_back(staff: Client, band: Band, cast: Cast) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    members = [band.members["Cai Ørnberg"].pk, band.members["Jon Pell"].pk]
    staff.post(url, {"member": members, "what": "passed"})
    staff.post(url, {"member": members[:1], "what": "passed"})
    rows = PassedFundamental.objects.filter(code="left-flank")
    assert sorted(rows.values_list("member_id", flat=True)) == sorted(members)
    assert {r.noted_by for r in rows} == {cast.staff}
    page = text(staff.get(url, {"rank": band.ranks["1"].pk}))
    assert "members of Rank 1" in page and "passed</span>" in page
    staff.post(url, {"member": members[:1], "what": "not"})
    assert rows.get().member_id == members[1]


def test_a_whole_rank_passes_at_once(staff: Client, band: Band) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    response = staff.post(url, {"rank": band.ranks["1"].pk, "all": "on", "what": "passed"})
    assert response["Location"].endswith(f"?rank={band.ranks['1'].pk}")
    here = roster.members_of_ranks(band.season, [band.ranks["1"].pk])
    passed = PassedFundamental.objects.values_list("member_id", flat=True)
    assert set(passed) == {m.pk for m in here}


def test_nobody_chosen_and_a_member_of_another_season_change_nothing(
    staff: Client, band: Band
) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    staff.post(url, {"what": "passed"})
    stranger = Member.objects.exclude(season=band.season).first()
    staff.post(url, {"what": "passed", "member": [stranger.pk if stranger else 10**8]})
    assert not PassedFundamental.objects.exists()


# Words against coordinates


@pytest.fixture
def show(band: Band) -> Show:
    """Two sets: 1-1 and 1-2 go eight steps back and eight to side 1, 1-2 one of them short."""
    made = Show.objects.create(season=band.season, name="Corners")
    version = ShowVersion.objects.create(show=made, label="1", order=1)
    sets = [
        DrillSet.objects.create(version=version, order=n, label=str(n), counts=16 * (n - 1))
        for n in (1, 2)
    ]
    for label, short in (("1-1", 0), ("1-2", 1)):
        place = Place.objects.create(show=made, label=label)
        for drawn, x, y in ((sets[0], 0, 30), (sets[1], short - 8, 38)):
            Position.objects.create(
                set=drawn, place=place, x=x * UNITS_PER_STEP, y=y * UNITS_PER_STEP
            )
    return made


def ask(staff: Client, show: Show, words: str, who: str) -> str:
    query = {"set": "2", "who": who, "facing": "back", "words": words}
    return text(staff.get(reverse("show-words", args=[show.pk]), query))


def test_words_are_compared_place_by_place(staff: Client, band: Band, show: Show) -> None:
    page = ask(staff, show, "forward 8, left flank, forward 8", f"rank-{band.ranks['1'].pk}")
    assert page.count("meets</span>") == 1
    assert page.count("differs</span>") == 1
    assert "From where the words end, the coordinate is 1 step (22.5 in) to side 2." in page
    assert "move 3, forward march: steps of 19.69 in (9.14-to-5)." in page
    assert not Path.objects.exists()


def test_what_is_not_understood_is_named(staff: Client, show: Show) -> None:
    place = show.places.get(label="1-1")
    assert "“skip” is not understood" in ask(staff, show, "skip 8", f"place-{place.pk}")
    assert "no whole number" in ask(staff, show, "forward 7.5", f"place-{place.pk}")


def test_counts_that_do_not_add_up_are_told(staff: Client, show: Show) -> None:
    place = show.places.get(label="1-1")
    page = ask(staff, show, "forward 8, left flank, forward 8, mark time 4", f"place-{place.pk}")
    assert "4 counts more than the set has." in page


def test_words_are_kept_and_coordinates_stay(staff: Client, show: Show) -> None:
    place = show.places.get(label="1-1")
    before = list(Position.objects.values_list("x", "y"))
    url = reverse("show-words-keep", args=[show.pk])
    sent = {"set": "2", "who": f"place-{place.pk}", "words": "facing back, forward 8, lf 8"}
    staff.post(url, sent | {"what": "words"})
    assert Path.objects.get().words == "facing back, forward 8, lf 8"
    staff.post(url, sent | {"what": "curve"})
    path = Path.objects.get()
    assert (path.words, path.curved) == ("", True)
    staff.post(url, sent | {"what": "straight"})
    assert not Path.objects.exists()
    staff.post(url, sent | {"what": "words", "words": "skip 3"})
    staff.post(url, sent | {"what": "words", "set": "1"})
    assert not Path.objects.exists()
    assert list(Position.objects.values_list("x", "y")) == before


# Prints and sequences


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_study_sheet_holds_what_was_chosen(staff: Client, band: Band, paper: str) -> None:
    url = reverse("study-sheet-file", args=[paper])
    said = pdf_text(staff.get(url, {"code": ["box-to-the-rear", "nonsense"]}))
    assert "Box to-the-rear" in said and "4 right, facing 180° left" in said
    assert "Left flank" not in said
    assert "Only the athletic trainer clears anyone to march." in said
    assert staff.get(reverse("study-sheet-file", args=["a3"])).status_code == 404


def ticked(staff: Client, **query: list[str] | str) -> set[str]:
    page = staff.get(reverse("study-sheet"), query)
    return {it.code for it, on in page.context["choices"] if on}


def test_the_study_sheet_starts_with_what_is_judged(staff: Client, band: Band, cast: Cast) -> None:
    assert ticked(staff) == set()
    page = text(staff.get(reverse("study-sheet")))
    assert "Choose all" in page and "Nothing is chosen" in page and "Print on" not in page
    codes = ["forward", "left-flank", "right-flank", "to-the-rear"]
    for label, chosen in (("One", codes), ("Two", [*codes[1:], "backward"])):
        make_sequence(
            actor=cast.staff,
            season=band.season,
            label=label,
            codes=chosen,
            counts=32,
            square=16,
            groups=1,
            seed=7,
        )
    assert ticked(staff) == {*codes, "backward"}
    assert ticked(staff, code="halt") == {"halt"}
    assert ticked(staff, chosen="yes") == set(), "somebody wants none of them"
    assert ticked(staff, all="yes", chosen="yes", code="halt") == set(built_in())


def test_a_sequence_is_made_seen_printed_and_removed(staff: Client, band: Band, cast: Cast) -> None:
    sent = {
        "label": "First evening",
        "codes": ["forward", "left-flank", "right-flank", "to-the-rear"],
        "counts": 32,
        "square": 16,
        "groups": 2,
        "seed": 7,
    }
    staff.post(reverse("sequences"), sent)
    row = EvaluationSequence.objects.get()
    assert len({group.difficulty for group in groups_of(row)}) == 1
    page = text(staff.get(reverse("sequence", args=[row.pk])))
    assert "Group 2" in page and "Difficulty" in page and "29 to 32" in page
    response = staff.get(reverse("sequence-file", args=[row.pk, "letter"]))
    said = pdf_text(response)
    assert "group 2 of 2" in said and "29 to 32" in said
    assert len(PdfReader(io.BytesIO(response.content)).pages) == 2
    assert not any(name in said for name in band.members)
    assert "already" in text(staff.post(reverse("sequences"), sent))
    staff.post(reverse("sequence-remove", args=[row.pk]))
    assert not EvaluationSequence.objects.exists()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"counts": 31}, "even number of counts"),
        ({"counts": 4}, "need at least 6 counts"),
        ({"codes": ["forward"]}, "would not come back"),
        ({"codes": ["nonsense"]}, "not one of the available choices"),
    ],
)
def test_a_sequence_that_cannot_be_says_why(
    staff: Client, changed: dict[str, object], says: str
) -> None:
    sent = {"label": "A", "codes": ["forward", "left-flank", "to-the-rear"], "counts": 32}
    sent |= {"square": 16, "groups": 1, "seed": 7}
    assert says in text(staff.post(reverse("sequences"), sent | changed))


def test_a_sequence_whose_fundamental_is_gone_says_so(
    staff: Client, band: Band, cast: Cast
) -> None:
    row = EvaluationSequence.objects.create(
        season=band.season,
        label="Old",
        seed=1,
        counts=4,
        square=8,
        codes=["hop"],
        moves=[[["hop", 4]]],
    )
    assert "is gone" in text(staff.get(reverse("sequence", args=[row.pk])))
    assert staff.get(reverse("sequence-file", args=[row.pk, "letter"])).status_code == 302


def test_a_name_of_any_script_is_a_name(band: Band, cast: Cast) -> None:
    for name in ("مرحبا", "🎺🎺"):
        definition = HOP | {"name": name, "also": []}
        assert save_fundamental(actor=cast.staff, season=band.season, definition=definition)
    assert set(Fundamental.objects.values_list("code", "name")) == {
        ("own-1", "مرحبا"),
        ("own-2", "🎺🎺"),
    }
