"""Every reason has its words, and the API says all that a problem can."""

from __future__ import annotations

from dataclasses import fields

from drill.lineup.api.problems import MemberSerializer, SpotSerializer
from drill.lineup.core.problem import Member, Spot
from drill.lineup.core.rules import WhyNot
from drill.lineup.core.solver.result import PinFault
from drill.lineup.views.shown import FAULTS
from drill.lineup.wording import CANNOT, WHY_NOT


def test_every_reason_is_said_in_a_list_and_in_a_sentence() -> None:
    assert set(WHY_NOT) == set(CANNOT) == set(WhyNot)


def test_every_fault_of_a_pin_is_said() -> None:
    assert set(FAULTS) == set(PinFault)


def test_a_posted_problem_can_say_all_of_a_member_and_a_spot() -> None:
    for serializer, row in ((MemberSerializer, Member), (SpotSerializer, Spot)):
        assert set(serializer().fields) == {field.name for field in fields(row)}
