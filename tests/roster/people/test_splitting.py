"""A part that is split: qualifications, spots and alternates follow, or are asked about."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from roster.people.models import KeptWord, Part
from roster.people.services.splitting import names_of_parts, split_part
from roster.ranks.models import AlternatePlace
from tests.factories import Band, Cast
from tests.lib.import_pages import SignedIn, staff
from tests.lib.imports_help import words

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("places move through constraints")]
NAMES = ["Trumpet 1", "Trumpet 2"]


def split(
    band: Band, cast: Cast, who: dict[str, str], places: dict[str, str] | None = None
) -> bool:
    return split_part(
        actor=cast.staff,
        part=band.parts["trumpet"],
        names=NAMES,
        of_member={band.members[name].pk: part for name, part in who.items()},
        of_place=places or {},
    )


def plays(band: Band, name: str) -> list[tuple[str, bool]]:
    rows = band.members[name].qualifications.select_related("part")
    return [(q.part.name, q.main) for q in rows]


def test_spots_and_alternates_follow_their_members(band: Band, cast: Cast) -> None:
    gone = split(
        band, cast, {"Ana Núñez": "Trumpet 1", "Bo Larkspur": "Trumpet 2", "Jon Pell": "Trumpet 2"}
    )
    assert not gone
    assert plays(band, "Ana Núñez") == [("Trumpet 1", True)]
    band.spots["1-1"].refresh_from_db()
    band.spots["1-2"].refresh_from_db()
    band.spots["1-3"].refresh_from_db()
    named = [band.spots[s].part.name for s in ("1-1", "1-2", "1-3")]
    assert named == ["Trumpet 1", "Trumpet 2", "Trumpet"]
    jon = AlternatePlace.objects.get(member=band.members["Jon Pell"])
    ida = AlternatePlace.objects.get(member=band.members["Ida Voss"])
    assert (jon.part.name, jon.standing) == ("Trumpet 2", 1)
    assert (ida.part.name, ida.standing) == ("Trumpet", 1)


def test_the_part_goes_with_its_last_player_and_place(band: Band, cast: Cast) -> None:
    everybody = {name: "Trumpet 1" for name in band.members if plays(band, name)[0][0] == "Trumpet"}
    open_spot = band.spot("2", 9, "trumpet")
    assert not split(band, cast, everybody)
    assert split(band, cast, {}, {f"spot-{open_spot.pk}": "Trumpet 2"})
    assert not Part.objects.filter(code="trumpet").exists()
    rank_one = AlternatePlace.objects.filter(rank=band.ranks["1"]).order_by("standing")
    assert [str(place.member) for place in rank_one] == ["Ida Voss", "Jon Pell"]


def test_a_part_that_is_there_already_takes_its_players_in(band: Band, cast: Cast) -> None:
    old = band.parts["trumpet"]
    there = Part.objects.create(
        season=band.season, instrument=old.instrument, name="Trumpet 1", code="trumpet-1"
    )
    band.members["Kit Moss"].qualifications.create(part=there, own_instrument=True)
    split(band, cast, {"Kit Moss": "Trumpet 1"})
    assert plays(band, "Kit Moss") == [("Trumpet 1", True)]
    assert band.members["Kit Moss"].qualifications.get().own_instrument
    assert Part.objects.filter(name="Trumpet 1").count() == 1


def test_wrong_names_and_choices_are_refused(band: Band, cast: Cast) -> None:
    part = band.parts["trumpet"]
    for text in ("", " \n ", "trumpet", "\n".join(map(str, range(20))), "x" * 61):
        with pytest.raises(Refused):
            names_of_parts(text, part)
    with pytest.raises(Refused, match="Choose among"):
        split(band, cast, {"Ana Núñez": "Tuba"})
    assert not Part.objects.filter(name="Trumpet 1").exists()


def test_the_page_asks_for_names_then_for_players(band: Band, staff: Client) -> None:
    url = reverse("part-split", args=[band.parts["trumpet"].pk])
    first = words(staff.get(url))
    assert "Trumpet 1\nTrumpet 2\nTrumpet 3" in first
    text = "\n".join(NAMES)
    asked = words(staff.get(url, {"names": text}))
    assert "Ana Núñez (spot 1-1)" in asked
    assert "Ida Voss (alternate 1, Rank 1)" in asked
    ana = band.members["Ana Núñez"].pk
    done = words(staff.post(url, {"names": text, f"member-{ana}": "Trumpet 2"}, follow=True))
    assert "Trumpet is split into Trumpet 1, Trumpet 2." in done
    assert plays(band, "Ana Núñez") == [("Trumpet 2", True)]
    bo = band.members["Bo Larkspur"].pk
    bad = words(staff.post(url, {"names": text, f"member-{bo}": "Tuba"}))
    assert "Select a valid choice" in bad
    assert plays(band, "Bo Larkspur") == [("Trumpet", True)]


def test_only_staff_split(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    url = reverse("part-split", args=[band.parts["trumpet"].pk])
    assert signed_in(cast.leader).post(url, {"names": "Trumpet 1"}).status_code == 403


def test_a_part_s_other_names_are_its_words(band: Band, staff: Client) -> None:
    part = band.parts["trumpet"]
    url = reverse("part-edit", args=[part.pk])
    data = {"instrument": part.instrument_id, "name": "Trumpet", "code": "tp-all", "order": 0}
    staff.post(url, data | {"also_called": "Horns, Lip"})
    kept = KeptWord.objects.filter(kind="part").values_list("text", "value")
    assert set(kept) == {("Horns", "tp-all"), ("Lip", "tp-all")}
    assert "Horns, Lip" in words(staff.get(url))
    staff.post(url, data | {"code": "tp", "also_called": "Lip"})
    assert list(kept.all()) == [("Lip", "tp")]
    other = band.parts["clarinet"]
    page = staff.post(
        reverse("part-edit", args=[other.pk]),
        {"instrument": other.instrument_id, "name": "Clarinet", "code": "clarinet", "order": 0,
         "also_called": "lip"},
    )  # fmt: skip
    assert "“Lip” already means Trumpet." in words(page)


def test_a_removed_part_takes_its_words_along(band: Band, cast: Cast, staff: Client) -> None:
    part = Part.objects.create(
        season=band.season, instrument=band.parts["trumpet"].instrument, name="Bugle", code="bugle"
    )
    KeptWord.objects.create(
        season=band.season, kind="part", text="Bug", key="bug", value="bugle", label="Bugle"
    )
    staff.post(reverse("part-remove", args=[part.pk]))
    assert not KeptWord.objects.exists()
