"""What tryouts are told in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from django.utils.text import get_text_list

from roster.tryouts.core.agreement import Agreement, Form
from roster.tryouts.core.cut import Group
from roster.tryouts.core.linking import Link, Linking
from roster.tryouts.core.seating.reasons import Why
from roster.tryouts.models import Candidate, Offer, Panelist, TryoutSession

MOST_NAMED = 12


@dataclass(frozen=True)
class LinkWords:
    """A look that would link panels."""

    candidate: Candidate
    panelist: Panelist
    session: TryoutSession

    @property
    def words(self) -> str:
        return (
            f"{self.panelist.code} ({self.panelist.user}) sees {self.candidate.called} in "
            f"{self.session}"
        )


def link_words(
    link: Link,
    people: Mapping[int, Candidate],
    panelists: Mapping[int, Panelist],
    sessions: Mapping[int, TryoutSession],
) -> LinkWords:
    """A link of keys, with what they are of."""
    return LinkWords(people[link.candidate], panelists[link.evaluator], sessions[link.session])


def numbers_words(numbers: Sequence[str]) -> str:
    """'101, 102 and 103', '101, 102 and 8 more'."""
    if len(numbers) <= MOST_NAMED:
        return get_text_list(list(numbers), "and")
    return f"{', '.join(numbers[: MOST_NAMED - 2])} and {len(numbers) - MOST_NAMED + 2} more"


def part_words(found: Linking, people: Mapping[int, Candidate]) -> list[str]:
    """The parts of a design that cannot be compared, each as its candidates' numbers; none where
    there is one part."""
    if found.is_whole:
        return []
    return [numbers_words([people[c].called for c in part]) for part in found.parts]


GROUP_MARKS = {Group.IN: "●", Group.CLOSE: "◐", Group.OUT: "○", None: "–"}


def group_mark(group: Group | None) -> str:
    """A shape for where a candidate stands to the cut; the word stands beside it."""
    return GROUP_MARKS[group]


class HasFigures(Protocol):
    """A candidate's figures, as wording needs them."""

    @property
    def raw(self) -> float | None: ...
    @property
    def adjusted(self) -> float | None: ...
    @property
    def chance(self) -> float | None: ...
    @property
    def group(self) -> Group | None: ...


def figure_words(it: HasFigures) -> str:
    """'84.9 (raw 82.5), 78%, too close to call'."""
    words = f"{it.adjusted:.1f}" if it.adjusted is not None else "–"
    if it.raw is not None:
        words += f" (raw {it.raw:.1f})"
    if it.chance is not None:
        words += f", {chance_words(it.chance)}"
    return f"{words}, {it.group}" if it.group else words


def chance_words(chance: float) -> str:
    """'78%', 'over 99%', 'under 1%': nothing is certain."""
    if chance > 0.99:
        return "over 99%"
    return "under 1%" if chance < 0.01 else f"{100 * chance:.0f}%"


FORM_WORDS = {
    Form.ONE_WAY: "One evaluator's figure, evaluators differing from candidate to candidate",
    Form.AGREEMENT: "One evaluator's figure, severity counted as error",
    Form.CONSISTENCY: "One evaluator's figure, severity set aside",
    Form.ONE_WAY_MEAN: "The mean of the panel, evaluators differing from candidate to candidate",
    Form.AGREEMENT_MEAN: "The mean of the panel, severity counted as error",
    Form.CONSISTENCY_MEAN: "The mean of the panel, severity set aside",
}


def reading_words(found: Agreement) -> str:
    """'poor to excellent', by the interval's ends."""
    ends = found.readings
    if ends is None:
        return "cannot be told"
    return str(ends[0]) if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def ordinal(number: int) -> str:
    """'1st', '12th', '23rd'."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in (11, 12, 13) else ending}"


def ties_words(criteria: Sequence[object]) -> str:
    """'The tie order (Flanks, then Music) does not tell them apart', or that there is none."""
    if not criteria:
        return "By the rules nothing breaks ties"
    return f"The tie order ({', then '.join(map(str, criteria))}) does not tell them apart"


class HasSpots(Protocol):
    """What the words of a seat need of the rows."""

    @property
    def spot(self) -> Mapping[int, object]: ...
    @property
    def by_candidate(self) -> Mapping[int, Offer]: ...


def why_words(why: Why, ground: HasSpots) -> list[str]:
    """Why somebody sits where they do, in sentences."""
    home = {0: "On their old spot, or without one.", 1: "In their old rank, on another spot."}
    said = [] if not why.locked else ["Locked there by staff."]
    said.append(home.get(why.distance_home, "Not in their old rank."))
    beside = [str(ground.by_candidate[key].candidate) for key in why.neighbors]
    if beside:
        new = f", {why.rookies_beside} of them new" if why.rookies_beside else ", none of them new"
        said.append(f"Beside {' and '.join(beside)}{new}.")
    said.append(f"Their rank's figures are {why.rank_off:+.1f} from what is typical, in sum.")
    if why.exchange is not None:
        spot, cost = why.exchange
        better = "would cost nothing more" if cost <= 0 else f"would cost {cost:g} more"
        said.append(f"The best exchange, with {ground.spot[spot]}, {better} by what counts.")
    return said
