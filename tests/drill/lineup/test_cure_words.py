"""What would fill an open spot, in sentences."""

from __future__ import annotations

import pytest

from bandops.lib.keys import key
from drill.lineup.wording import Names, cure_sentences
from tests.factories import Band

pytestmark = pytest.mark.django_db


def cure(kind: str, **named: str) -> dict[str, str]:
    return {"kind": kind, "member": "", "part": "", "instrument": "", **named}


def test_each_change_says_what_it_names(band: Band) -> None:
    cai, spot = key(band.members["Cai Ørnberg"].pk), key(band.spots["1-3"].pk)
    halftime = key(band.halftime.pk)
    said = cure_sentences(
        [
            cure("BACK", member=cai),
            cure("UNBLOCK", member=cai, segment=halftime, spot=spot),
            cure("UNBLOCK", member=cai, spot=spot),
            cure("UNBLOCK", member=cai),
            cure("UNPIN", member=cai, segment=halftime, spot=spot),
            cure("NEWCOMER", spot=spot),
            cure("TRAVEL"),
        ],
        Names(band.season.pk),
    )
    assert said == [
        "Cai Ørnberg is back",
        "Lift the block that keeps Cai Ørnberg from 1-3 in Halftime",
        "Lift the block that keeps Cai Ørnberg from 1-3",
        "Lift the block that keeps Cai Ørnberg from marching at all",
        "Lift the pin of Cai Ørnberg on 1-3 in Halftime",
        "Let somebody with under two years march 1-3",
        "One more seat on the trip",
    ]


def test_many_who_could_learn_are_a_few_names_and_a_number(band: Band) -> None:
    part = key(band.parts["trumpet"].pk)
    people = [band.member(f"Learner {n}", "clarinet") for n in range(9)]
    keys = [key(member.pk) for member in people]
    names = Names(band.season.pk)
    (many,) = cure_sentences([{"kind": "LESSON", "part": part, "members": keys}], names)
    six = ", ".join(f"Learner {n}" for n in range(6))
    assert many == f"Teach Trumpet to one of these: {six}, or 3 others"
    (one,) = cure_sentences([{"kind": "LESSON", "part": part, "members": keys[:1]}], names)
    assert one == "Teach Trumpet to Learner 0"


def test_lineups_made_before_name_each_learner(band: Band) -> None:
    part = key(band.parts["trumpet"].pk)
    people = [band.member(f"Learner {n}", "clarinet") for n in range(2)]
    old = [cure("LESSON", member=key(member.pk), part=part) for member in people]
    (line,) = cure_sentences(old, Names(band.season.pk))
    assert line == "Teach Trumpet to one of these: Learner 0, Learner 1"
