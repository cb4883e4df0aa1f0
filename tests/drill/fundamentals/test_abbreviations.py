"""The band's own abbreviations: on their page, in words, in and out as a table."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from bandops.lib.exports.kinds import export_of
from drill.fundamentals.models import Abbreviation, Fundamental
from drill.fundamentals.services.abbreviations import remove_abbreviation, save_abbreviation
from drill.fundamentals.services.fundamentals import remove_fundamental, save_fundamental
from drill.shows.models import Dot, DrillSet, Path, Show, ShowVersion
from drill.shows.services.words import save_words
from tests.answers import text
from tests.drill.fundamentals.fundamentals_help import staff
from tests.factories import Band, Cast
from tests.lib.imports_help import csv_file, plan_of

__all__ = ["staff"]

pytestmark = pytest.mark.django_db


def add(band: Band, actor: User, word: str, says: str) -> Abbreviation:
    return save_abbreviation(actor=actor, season=band.season, word=word, says=says)


def test_staff_add_change_and_remove_one(staff: Client, band: Band) -> None:
    there = reverse("abbreviations")
    page = text(staff.post(there, {"word": "OB", "says": "left  oblique"}, follow=True))
    assert "“OB” says “left oblique”." in page
    row = Abbreviation.objects.get(season=band.season)
    assert (row.word, row.said, row.says) == ("OB", "ob", "left oblique")
    staff.post(reverse("abbreviation", args=[row.pk]), {"word": "O-b", "says": "right oblique"})
    row.refresh_from_db()
    assert (row.word, row.said, row.says) == ("O-b", "o b", "right oblique")
    staff.post(reverse("abbreviation-remove", args=[row.pk]))
    assert not Abbreviation.objects.exists()
    actions = AuditEntry.objects.filter(table=Abbreviation._meta.db_table)
    assert actions.count() == 3


@pytest.mark.parametrize(
    ("word", "says", "trouble"),
    [
        ("ob", "skip", "“skip” is not understood"),
        ("ob", "ob 8", "“ob” says itself"),
        ("forward", "back", "always means forward march"),
        ("W8", "back 8", "there already"),
        ("", "back 8", "required"),
    ],
)
def test_what_cannot_be_is_said(
    staff: Client, band: Band, cast: Cast, word: str, says: str, trouble: str
) -> None:
    add(band, cast.staff, "w8", "forward 8")
    page = text(staff.post(reverse("abbreviations"), {"word": word, "says": says}))
    assert trouble in page
    assert Abbreviation.objects.count() == 1


def test_one_that_another_says_stays(band: Band, cast: Cast) -> None:
    inner = add(band, cast.staff, "ob", "left oblique")
    add(band, cast.staff, "diamond", "ob 8, ob 8")
    with pytest.raises(Refused, match="diamond"):
        remove_abbreviation(actor=cast.staff, row=inner)
    with pytest.raises(Refused, match="says itself"):
        save_abbreviation(
            actor=cast.staff, season=band.season, word="ob", says="diamond", row=inner
        )


def test_a_fundamental_that_one_says_stays_and_takes_no_name_of_one(band: Band, cast: Cast) -> None:
    hop = {"name": "hop", "counts": 2, "path": [[0, 1]]}
    save_fundamental(actor=cast.staff, season=band.season, definition=hop)
    add(band, cast.staff, "hh", "hop, hop")
    with pytest.raises(Refused, match="“hh”"):
        remove_fundamental(actor=cast.staff, row=Fundamental.objects.get(code="hop"))
    with pytest.raises(Refused, match="“HH” is already one of your abbreviations"):
        save_fundamental(actor=cast.staff, season=band.season, definition={**hop, "name": "HH"})


def test_words_are_kept_spelled_out(band: Band, cast: Cast) -> None:
    """So they stay what they were when the table changes."""
    show = Show.objects.create(season=band.season, name="Corners")
    version = ShowVersion.objects.create(show=show, label="1", order=1)
    sets = [
        DrillSet.objects.create(version=version, order=n, label=str(n), counts=8) for n in (1, 2)
    ]
    dot = Dot.objects.create(show=show, label="1-1")
    add(band, cast.staff, "lf", "left oblique")
    save_words(
        actor=cast.staff, season=band.season, drill_set=sets[1], dots=[dot], words="LF 8, hold 4"
    )
    assert Path.objects.get().words == "left oblique 8, hold 4"


def test_the_table_goes_out_and_comes_in_again(band: Band, cast: Cast) -> None:
    add(band, cast.staff, "ob", "left oblique")
    add(band, cast.staff, "diamond", "ob 8, ob 8")
    export = export_of("abbreviations")
    assert export is not None
    headers, rows = export.rows(band.season)
    lines = [[str(cell) for cell in row] for row in rows]
    plan = plan_of("abbreviations", csv_file(list(headers), *lines), band.season, cast.staff)
    assert not plan.faults
    assert [line.action for line in plan.lines] == ["same", "same"]


def test_faults_of_a_file_are_told_at_their_rows(band: Band, cast: Cast) -> None:
    content = csv_file(
        ["abbreviation", "says"],
        ["ob", "left oblique"],
        ["OB", "right oblique"],
        ["one", "two 8"],
        ["two", "one"],
        ["forward", "back"],
        ["three", ""],
    )
    plan = plan_of("abbreviations", content, band.season, cast.staff)
    told = {(fault.row, fault.column): fault.message for fault in plan.faults}
    assert "comes twice, first in row 2" in told[3, "abbreviation"]
    assert "says itself" in told[4, "says"] and "says itself" in told[5, "says"]
    assert "always means" in told[6, "abbreviation"]
    assert told[7, "says"] == "Say what it stands for."
