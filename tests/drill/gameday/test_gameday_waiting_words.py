"""What the desk keeps for a phone, and the words under which a change waits there."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.gameday.core.fills import Asked, Choice, Move
from drill.gameday.services import desk as gameday
from tests.drill.gameday.gameday_desk import out
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = pytest.mark.django_db
SignIn = Callable[[User], Client]
CAI, GUS, KIT, JON = "Cai Ørnberg", "Gus Tamm", "Kit Moss", "Jon Pell"


def test_a_chain_waits_under_who_moves(
    out: Band, cast: Cast, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    pregame, members = key(out.pregame.pk), {n: key(m.pk) for n, m in out.members.items()}
    spots = {label: key(spot.pk) for label, spot in out.spots.items()}
    moves = (
        Move(pregame, spots["1-3"], members[GUS], spots["2-2"]),
        Move(pregame, spots["2-2"], members[KIT]),
    )
    asked = tuple(Asked(members[name], 0, 0) for name in (KIT, GUS))
    chain = Choice(members[KIT], moves, asked, None, 1)
    monkeypatch.setattr(gameday, "choices_for", lambda *_: [chain])
    url = reverse("desk-out", args=[out.event.pk, out.members[CAI].pk])
    page = signed_in(cast.staff).get(f"{url}?segments={out.pregame.pk}").content.decode()
    words = f"{CAI} out (Pregame), {GUS} moves, {KIT} steps in"
    assert f'data-queue="{words}" data-once-fields="out spot in"' in page


def test_the_phone_keeps_where_somebody_is_missing(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    member = out.members[CAI]
    Absence.objects.create(
        member=member,
        event=out.event,
        kind=AbsenceKind.LATE,
        late_until=datetime.time(14, 15),
    )
    Absence.objects.create(
        member=out.members[JON],
        event=out.event,
        segment=out.halftime,
        kind=AbsenceKind.OUT,
    )
    page = signed_in(cast.staff).get(reverse("desk"))
    kept = page.context["offline"]["outs"]
    assert kept[member.pk]["missing"] == [out.pregame.pk]
    first, lacking = kept[member.pk]["choices"][0]
    assert (first, lacking) == (out.members[JON].pk, [[out.halftime.pk, "Halftime 1-3"]])
    assert kept[out.members[GUS].pk]["missing"] == []
