"""Sentences for the codes and numbers that the core and the stored rows carry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from drill.core.changes import Change, MemberChange
from drill.core.contests import OUT_OF, Reason
from drill.core.coverage import Answer, SpotCoverage, State
from drill.core.explain import CureKind
from drill.core.fills import Choice
from drill.core.problem import Level
from drill.core.rules import WhyNot
from drill.core.spoken import USUAL, Style
from drill.drill_words import asked_words, load_words, steps_text
from drill.enums import ContestState
from drill.models import DrillSettings, Segment
from roster.models import Instrument, Member, Part, Rank, Spot

LEVELS = {
    Level.HOLES: "holes, all segments together",
    Level.LEADERLESS: "ranks without leader or second, likewise",
    Level.MOVED: "moves of people, points",
    Level.STANDING: "order of covers and alternates, points",
    Level.RELEARNING: "relearning, points",
    Level.FAIRNESS: "turns, summed percent",
    Level.TIE: "fixed draw",
}
LEVEL_COSTS = {
    Level.HOLES: "{n} more {holes}",
    Level.LEADERLESS: "{n} more {ranks} without leader or second",
    Level.MOVED: "more people leave their places",
    Level.STANDING: "later in the order of covers and alternates",
    Level.RELEARNING: "{n} points more to relearn",
    Level.FAIRNESS: "they have marched more often",
}
LEVEL_GAINS = {
    Level.HOLES: "{n} {holes} fewer",
    Level.LEADERLESS: "{n} {ranks} fewer without leader or second",
    Level.MOVED: "fewer people leave their places",
    Level.STANDING: "earlier in the order of covers and alternates",
    Level.RELEARNING: "{n} points less to relearn",
    Level.FAIRNESS: "they have marched less often",
}
WHY_NOT = {
    WhyNot.LEFT_OPEN: "the spot is left open by choice",
    WhyNot.NOT_QUALIFIED: "does not play the part",
    WhyNot.AWAY: "not available",
    WhyNot.BARRED: "barred from it",
    WhyNot.NEEDS_EXPERIENCE: "the spot needs an experienced marcher (two years or more)",
}
NOT_ALONG = {WhyNot.AWAY: "not on the travel list"}
ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth"}


class Names:
    """Labels of a season's rows by the keys that problems use; each kind is read once."""

    def __init__(self, season_id: int) -> None:
        self.season_id = season_id

    @cached_property
    def _members(self) -> dict[int, str]:
        rows = Member.objects.filter(season=self.season_id).select_related("person")
        return {m.pk: m.name for m in rows}

    @cached_property
    def _spots(self) -> dict[int, str]:
        rows = Spot.objects.filter(rank__season=self.season_id).select_related("rank")
        return {s.pk: s.label for s in rows}

    @cached_property
    def _segments(self) -> dict[int, str]:
        rows = Segment.objects.filter(event__season=self.season_id)
        return dict(rows.values_list("pk", "name"))

    @cached_property
    def _ranks(self) -> dict[int, str]:
        return {r.pk: str(r) for r in Rank.objects.filter(season=self.season_id)}

    @cached_property
    def _parts(self) -> dict[int, str]:
        return dict(Part.objects.filter(season=self.season_id).values_list("pk", "name"))

    @cached_property
    def _instruments(self) -> dict[int, str]:
        rows = Instrument.objects.filter(season=self.season_id)
        return dict(rows.values_list("pk", "name"))

    @cached_property
    def style(self) -> Style:
        """How distances are written."""
        settings = DrillSettings.objects.filter(season=self.season_id).first()
        return settings.style if settings else USUAL

    def member(self, key: str | None) -> str:
        return self._members.get(int(key), "a former member") if key else "nobody"

    def spot(self, key: str | None) -> str:
        return self._spots.get(int(key), "a former spot") if key else ""

    def segment(self, key: str | None) -> str:
        return self._segments.get(int(key), "a former segment") if key else ""

    def rank(self, key: str | None) -> str:
        return self._ranks.get(int(key), "a former rank") if key else ""

    def part(self, key: str | None) -> str:
        return self._parts.get(int(key), "") if key else ""

    def instrument(self, key: str | None) -> str:
        return self._instruments.get(int(key), "") if key else ""


def price_text(price: Iterable[Sequence[Any]]) -> str:
    """A price as the first difference that decides: '1 more hole'."""
    for name, cost in price:
        level = Level[name] if isinstance(name, str) else Level(name)
        words = LEVEL_COSTS if cost > 0 else LEVEL_GAINS
        n = abs(cost)
        return words[level].format(
            n=n, holes="hole" if n == 1 else "holes", ranks="rank" if n == 1 else "ranks"
        )
    return "equal in every rule; a fixed draw decides"


def rung_text(reason: Mapping[str, Any]) -> str:
    """Where a stand-in stands in the order: 'first cover', 'alternate 2 of the rank'."""
    if reason.get("cover"):
        order = int(reason["cover"])
        return f"{ORDINALS.get(order, f'{order}th')} cover"
    if reason.get("standing"):
        return f"alternate {reason['standing']} of the rank"
    return "from elsewhere"


def choice_words(choice: Choice, names: Names) -> str:
    """What a choice at the desk means: 'first cover, ready, 15 of 24 sets to learn'."""
    rung = rung_text({"cover": choice.order, "standing": choice.standing})
    if not choice.is_chain:
        return f"{rung}, {asked_words(choice.asked[0], names.style)}"
    steps = []
    asked = {one.member: one for one in choice.asked}
    for move in choice.moves:
        words = f"{names.member(move.member)} to {names.spot(move.spot)}"
        if move.before:
            words += f" from {names.spot(move.before)}"
        words += f" ({asked_words(asked[move.member], names.style)})"
        steps.append(words)
    return f"{choice.people} people move: {'; '.join(dict.fromkeys(steps))}"


def coverage_words(row: SpotCoverage, names: Names) -> str:
    """Who answers for a spot: 'Xen directly; hangs on Xen'."""
    if row.state is State.HOLE:
        return "nobody marches it now"
    if row.answer is Answer.NONE:
        rule = f", because of {row.rule.value}" if row.rule else ""
        return f"nobody answers{rule}"
    if row.answer is Answer.DIRECT:
        words = ", ".join(names.member(m) for m in row.direct[:3]) or names.member(
            row.moves[0].member
        )
        words += " directly"
    else:
        steps = [
            f"{names.member(m.member)} to {names.spot(m.to_spot)}"
            + (f" from {names.spot(m.from_spot)}" if m.from_spot else "")
            for m in row.moves
        ]
        words = f"by a chain: {', then '.join(steps)}"
    if row.hangs_on:
        words += f"; hangs on {', '.join(names.member(m) for m in row.hangs_on)}"
    return words


def stand_in_sentence(reason: Mapping[str, Any], names: Names) -> str:
    """Why this stand-in, and who would be next."""
    if reason.get("code") != "stand-in":
        return "placed by hand"
    text = rung_text(reason)
    if reason.get("moved_from"):
        text += f", moved from {names.spot(reason['moved_from'])}"
        if reason.get("staying_costs"):
            text += f" (staying there: {price_text(reason['staying_costs'])})"
    if load := reason.get("load"):
        words = load_words(load["new"], load["total"], load["largest"], load["set"], names.style)
        text += f"; {words}"
    if "price" in reason:
        after = names.member(reason.get("runner_up"))
        if reason.get("runner_up"):
            text += f". Next: {after} ({price_text(reason['price'])})"
        elif reason["price"]:
            text += f". Otherwise it stays open ({price_text(reason['price'])})"
    return text[:1].upper() + text[1:] + "."


def hole_sentence(reason: Mapping[str, Any]) -> str:
    """Why a hole is a hole, in numbers."""
    if reason.get("code") != "hole":
        return "Emptied by hand."
    spots, members = reason["spots"], reason["members"]
    if reason.get("free"):
        return (
            f"{spots} spots and {members} members who can march them, but another rule "
            "(instruments or travel) keeps one from stepping in."
        )
    which = "it" if spots == 1 else "them"
    people = "1 member who" if members == 1 else f"{members} members who"
    who = f"nobody who can march {which}" if not members else f"{people} can march {which}"
    return f"{spots} {'spot' if spots == 1 else 'spots'}, {who}."


def cure_sentence(cure: Mapping[str, Any], names: Names) -> str:
    """A single change that fills one hole more."""
    kind = CureKind[cure["kind"]]
    member = names.member(cure.get("member") or None)
    return {
        CureKind.BACK: f"{member} is available after all",
        CureKind.INSTRUMENT: f"one more {names.instrument(cure.get('instrument')).lower()}",
        CureKind.UNBAR: f"the bar on {member} is lifted",
        CureKind.LESSON: f"{member} learns {names.part(cure.get('part'))}",
    }[kind]


def change_sentence(change: str, before: str | None, after: str | None, names: Names) -> str:
    """What happens to somebody: 'moves from 4-11 to 5-3'."""
    words = {
        Change.STEPS_IN: f"steps in at {names.spot(after)}",
        Change.MOVES: f"moves from {names.spot(before)} to {names.spot(after)}",
        Change.STEPS_OUT: f"steps out of {names.spot(before)}",
    }
    return words[Change(change)]


def member_change_sentence(change: MemberChange, names: Names) -> str:
    """The change with its member and segment."""
    what = change_sentence(change.change, change.before, change.after, names)
    return f"{names.segment(change.segment)}: {names.member(change.member)} {what}"


def distance_text(distance: float | Sequence[Any] | None, style: Style = USUAL) -> str:
    """How far a place moved in a set: 'moves by 2.5 steps', 'is new'."""
    if distance is None:
        return "is new"
    if isinstance(distance, Sequence):
        follows, counts = distance
        return f"comes straight from set {follows}, in {counts} counts"
    return f"moves by {steps_text(distance, style)}"


def notice_sentences(content: Mapping[str, Any], names: Names) -> list[str]:
    """What a notice tells its member: their own changes first, then covers, then the rank."""
    told = {
        Change.STEPS_IN: "you march {after}",
        Change.MOVES: "you move from {before} to {after}",
        Change.STEPS_OUT: "you do not march (before: {before})",
    }
    lines = [
        f"{names.segment(segment)}: "
        + told[Change(change)].format(before=names.spot(before), after=names.spot(after))
        for segment, change, before, after in content.get("changes", [])
    ]
    lines += _set_lines(content.get("sets", []), names, "your place at {spot}")
    lines += _set_lines(content.get("covers", []), names, "{spot}, which you cover,")
    lines += [
        f"{names.segment(segment)}: {names.member(member)} "
        + change_sentence(change, before, after, names)
        for segment, member, change, before, after in content.get("rank", [])
    ]
    return lines + _set_lines(content.get("rank_sets", []), names, "{spot}")


def _set_lines(moves: Iterable[Sequence[Any]], names: Names, what: str) -> list[str]:
    return [
        f"{names.segment(segment)}, set {label}: "
        f"{what.format(spot=names.spot(spot))} {distance_text(distance, names.style)}"
        for segment, spot, label, distance in moves
    ]


def chances_words(performances: int, rehearsals: int, average: float, own: bool) -> str:
    """Where the chances of being out come from; ``own`` when members differ."""
    if not performances and not rehearsals:
        return f"Everybody is given the same chance, {percent_words(average)}."
    seen = " and ".join(
        f"{n} {one if n == 1 else one + 's'}"
        for n, one in ((performances, "performance"), (rehearsals, "rehearsal"))
        if n
    )
    text = f"From {seen} of this season: {percent_words(average)} on average."
    if not own:
        return f"{text} Members differ no more than chance would have it."
    return f"{text} Each member's own share is drawn towards that, the more the less is known."


def percent_words(chance: float) -> str:
    """A chance as staff say it: 'under 1%', '19%', 'over 99%'."""
    if 1e-9 < chance < 0.01:
        return "under 1%"
    if 0.99 < chance < 1 - 1e-9:
        return "over 99%"
    return f"{round(100 * chance)}%"


CONTEST_REASONS = {
    Reason.HIGHER: "the challenger takes the spot",
    Reason.LOWER: "the holder keeps the spot",
    Reason.EQUAL: "equal, the holder keeps the spot",
    Reason.BEATEN: "higher, but another challenger by more",
    Reason.SHARED: "higher, but another challenger by just as much: the holder keeps the spot",
}


def contest_sentence(outcome: Mapping[str, Any]) -> str:
    """A contest's figures and what follows, as staff read it: '8.25 to 8.25: equal, …'."""
    challenger, holder = figure_texts(Fraction(outcome["challenger"]), Fraction(outcome["holder"]))
    text = f"{challenger} to {holder}"
    if outcome.get("reason"):
        text += f": {CONTEST_REASONS[Reason(outcome['reason'])]}"
    n = outcome["evaluators"]
    return f"{text} ({n} evaluator{'' if n == 1 else 's'})"


def own_contest_sentence(state: str, outcome: Mapping[str, Any], challenges: bool) -> str:
    """What a challenger or a holder reads of their contest: their own figure, nobody else's."""
    words = {
        ContestState.ASKED: "To be held." if challenges else "Somebody tries for your spot.",
        ContestState.CALLED_OFF: "Called off.",
        ContestState.KEPT: "The holder keeps the spot." if challenges else "You keep the spot.",
        ContestState.WON: "You win the spot." if challenges else "The challenger wins the spot.",
    }
    text = words[ContestState(state)]
    if not outcome:
        return text
    if outcome["reason"] == Reason.BEATEN:
        text = "Another challenger wins the spot."
    own = Fraction(outcome["challenger" if challenges else "holder"])
    return f"{text} Your figure: {_decimal(own, 2)} out of {OUT_OF}."


def figure_texts(first: Fraction, second: Fraction) -> tuple[str, str]:
    """Two figures to two places, or to as many as tell them apart."""
    for places in range(2, 9):
        texts = _decimal(first, places), _decimal(second, places)
        if texts[0] != texts[1] or first == second:
            return texts
    return str(first), str(second)


def _decimal(figure: Fraction, places: int) -> str:
    exact = Decimal(figure.numerator) / Decimal(figure.denominator)
    return str(exact.quantize(Decimal(10) ** -places))


def day_change_sentences(seats: Iterable[Sequence[Any]], names: Names) -> list[str]:
    """What a change of the day did, seat by seat: 'Halftime 1-3: Ida Voss instead of nobody'."""
    return [
        f"{names.segment(str(segment))} {names.spot(str(spot))}: "
        f"{names.member(_key(after))} instead of {names.member(_key(before))}"
        for segment, spot, before, after in seats
    ]


def _key(pk: object) -> str | None:
    return str(pk) if pk else None
