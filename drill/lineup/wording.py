"""Sentences for the codes and numbers that the core and the stored rows carry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import Any

from drill.events.models import Segment
from drill.field.core.spoken import USUAL, Style
from drill.field.models import DrillSettings
from drill.field.wording import load_words, steps_text
from drill.lineup.core.candidates import Effect
from drill.lineup.core.changes import Change, MemberChange
from drill.lineup.core.cure import CureKind
from drill.lineup.core.leading import Leading
from drill.lineup.core.problem import Level, Pool
from drill.lineup.core.relearn import NewSet
from drill.lineup.core.rules import WhyNot
from drill.lineup.models import Lineup
from roster.equipment.models import Kind
from roster.people.models import Instrument, Member, Part, Season
from roster.ranks.models import Rank, Spot

LEVELS = {
    Level.HOLES: "Open spots (all segments)",
    Level.LEADERLESS: "Ranks without a leader (all segments)",
    Level.MOVED: "People moved (points)",
    Level.SPLIT: "Spots with a second stand-in",
    Level.STANDING: "Backup order (points)",
    Level.RELEARNING: "To relearn (points)",
    Level.FAIRNESS: "Fairness (percent marched, summed)",
    Level.TIE: "fixed draw",
}
PROVING = {
    Level.HOLES: "Proving that no fewer spots can stay open …",
    Level.LEADERLESS: "Proving that no fewer ranks can go without a leader …",
    Level.MOVED: "Proving that no fewer people need to move …",
    Level.SPLIT: "Proving that no fewer spots need a second stand-in …",
    Level.STANDING: "Proving that nobody nearer in line can stand in …",
    Level.RELEARNING: "Proving that nobody has less to relearn …",
    Level.FAIRNESS: "Proving that no choice is fairer …",
    Level.TIE: "Proving that this is the only best lineup …",
}
"""what is said while the solver works for more than a moment"""
LEVEL_COSTS = {
    Level.HOLES: "{n} more open {holes}",
    Level.LEADERLESS: "{n} more {ranks} without a leader or assistant leader",
    Level.MOVED: "more people leave their spots",
    Level.SPLIT: "{n} more {spots} with two stand-ins",
    Level.STANDING: "later in the order of backups and alternates",
    Level.RELEARNING: "{n} more points to relearn",
    Level.FAIRNESS: "they have marched more often",
}
LEVEL_GAINS = {
    Level.HOLES: "{n} fewer open {holes}",
    Level.LEADERLESS: "{n} fewer {ranks} without a leader or assistant leader",
    Level.MOVED: "fewer people leave their spots",
    Level.SPLIT: "{n} fewer {spots} with two stand-ins",
    Level.STANDING: "earlier in the order of backups and alternates",
    Level.RELEARNING: "{n} fewer points to relearn",
    Level.FAIRNESS: "they have marched less often",
}
WHY_NOT = {
    WhyNot.LEFT_OPEN: "the spot is left open by choice",
    WhyNot.NOT_QUALIFIED: "does not play the part",
    WhyNot.AWAY: "not available",
    WhyNot.BLOCKED: "blocked from it",
    WhyNot.NEEDS_EXPERIENCE: "the spot needs an experienced marcher (two years or more)",
    WhyNot.NOT_DRESSED: "not dressed, and no spare piece fits",
}
NOT_ALONG = {WhyNot.AWAY: "not on the travel list"}
CANNOT = {
    WhyNot.LEFT_OPEN: "the spot is left open",
    WhyNot.NOT_QUALIFIED: "they do not play its part",
    WhyNot.AWAY: "they are not available",
    WhyNot.BLOCKED: "they are blocked from it",
    WhyNot.NEEDS_EXPERIENCE: "it needs an experienced marcher",
    WhyNot.NOT_DRESSED: "they are not dressed, and no spare piece fits",
}
"""the same where somebody wants to put a member there"""
CANNOT_ALONG = {WhyNot.AWAY: "they are not on the travel list"}
MOST_NAMED = 6
"""learners that a line names"""
ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth"}


class Names:
    """Labels of a season's rows by the keys that problems use; each kind is read once."""

    def __init__(self, season_id: int) -> None:
        self.season_id = season_id

    @cached_property
    def _members(self) -> dict[int, str]:
        rows = Member.objects.filter(season=self.season_id).select_related("person")
        named = rows.only("person__used_name", "person__legal_name")
        return {m.pk: m.name for m in named}

    @cached_property
    def _spots(self) -> dict[int, str]:
        rows = Spot.objects.filter(rank__season=self.season_id).select_related("rank")
        return {s.pk: s.label for s in rows.only("own_label", "number", "rank__label")}

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
    def pool(self) -> Pool:
        """Among whom the season's alternates have their standing."""
        return Pool(Season.objects.values_list("alternates_by", flat=True).get(pk=self.season_id))

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

    @cached_property
    def _pieces(self) -> dict[int, str]:
        return dict(Kind.objects.values_list("pk", "name"))

    def piece(self, key: str | None) -> str:
        return self._pieces.get(int(key), "piece").lower() if key else "piece"

    def instrument(self, key: str | None) -> str:
        return self._instruments.get(int(key), "") if key else ""


def price_text(price: Iterable[Sequence[Any]]) -> str:
    """A price as the first difference that decides: '1 more open spot'."""
    for name, cost in price:
        level = Level[name] if isinstance(name, str) else Level(name)
        words = LEVEL_COSTS if cost > 0 else LEVEL_GAINS
        n = abs(cost)
        return words[level].format(
            n=n,
            holes="spot" if n == 1 else "spots",
            ranks="rank" if n == 1 else "ranks",
            spots="spot" if n == 1 else "spots",
        )
    return "tied on every rule; a fixed draw decides"


def rung_text(reason: Mapping[str, Any]) -> str:
    """Where a stand-in stands in the order: 'first backup', 'alternate 2 of the rank' (or section,
    or band: the pool)."""
    if reason.get("backup"):
        order = int(reason["backup"])
        return f"{ORDINALS.get(order, f'{order}th')} backup"
    if reason.get("standing"):
        return f"alternate {reason['standing']} of the {reason.get('pool') or Pool.RANK}"
    return "not a named backup"


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
    if reason.get("code") == "left":
        return "The holder no longer marches, and nobody is free."
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
    who = (
        f"nobody available who could march {which}"
        if not members
        else f"{people} can march {which}"
    )
    return f"{spots} {'spot' if spots == 1 else 'spots'}, {who}."


def cure_sentences(cures: Iterable[Mapping[str, Any]], names: Names) -> list[str]:
    """Every single change that fills one hole more; lessons of one part in one line."""
    found: list[str] = []
    learners: dict[str, list[str]] = {}
    for cure in cures:
        if CureKind[cure["kind"]] is CureKind.LESSON:
            # Older lineups have an entry for each learner.
            learners.setdefault(cure["part"], []).extend(cure.get("members") or [cure["member"]])
        else:
            found.append(_cure_sentence(cure, names))
    return found + [_lesson_sentence(part, who, names) for part, who in learners.items()]


def _lesson_sentence(part: str, members: list[str], names: Names) -> str:
    """The nearest by name, the others by their number."""
    named = [names.member(key) for key in members[:MOST_NAMED]]
    who = named[0] if len(named) == 1 else f"one of these: {', '.join(named)}"
    others = len(members) - len(named)
    more = f", or {others} {'other' if others == 1 else 'others'}" if others else ""
    return f"Teach {names.part(part)} to {who}{more}"


def _cure_sentence(cure: Mapping[str, Any], names: Names) -> str:
    member = names.member(cure["member"] or None)
    spot = names.spot(cure.get("spot"))
    where = " in ".join(filter(None, (spot, names.segment(cure.get("segment")))))
    return {
        CureKind.BACK: f"{member} is back",
        CureKind.INSTRUMENT: f"One more {names.instrument(cure['instrument']).lower()}",
        CureKind.TRAVEL: "One more seat on the trip",
        CureKind.PIECE: f"A {names.piece(cure.get('piece', ''))} that fits {member}",
        CureKind.UNBLOCK: f"Lift the block that keeps {member} from {where or 'marching at all'}",
        CureKind.UNPIN: f"Lift the pin of {member} on {where}",
        CureKind.NEWCOMER: f"Let somebody with under two years march {spot}",
    }[CureKind[cure["kind"]]]


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


def effect_words(effect: Effect | None, names: Names, *, all_segments: bool) -> str:
    """What a button does, in the order it is read: 'Jon Pell steps in at 1-3; Cai Ørnberg steps
    out of 1-3. Costs: 1 more open spot'. Segments are named where it is about several."""
    if effect is None:
        return ""
    found = []
    for change in effect.changes:
        said = member_change_sentence(change, names)
        found.append(said if all_segments else said.partition(": ")[2])
    found += [f"{names.spot(spot)} opens" for _, spot in effect.opens]
    costs = f". Costs: {price_text(effect.price)}" if effect.price else ""
    return "; ".join(found) + costs


def new_set_words(one: NewSet, fundamentals: Mapping[str, str], style: Style = USUAL) -> str:
    """What makes a set hard: '9 steps from 4-6, the opposite way'. ``fundamentals``: code ->
    name."""
    far = "no dot to start from"
    if one.distance is not None:
        far = f"{steps_text(one.distance, style)} from {one.nearest}"
    missing = ", ".join(fundamentals.get(code, code) for code in one.lacking)
    lacking = f"not passed yet: {missing}" if missing else ""
    return ", ".join(filter(None, (far, "the opposite way" if one.opposite else "", lacking)))


def leading_words(it: Leading, names: Mapping[int, str], away: str = "out") -> str:
    """'Ana leads (for Ben, out)', of a doubtful leader 'if Ben is out, Ana leads'; never why."""
    said = []
    if it.line[0] != it.usual:
        said.append(f"{names[it.line[0]]} leads (for {names[it.usual]}, {away})")
    said += [f"if {names[one]} is out, {names[other]} leads" for one, other in pairwise(it.line)]
    return "; ".join(said)


def level_rows(draft: Lineup) -> list[tuple[str, int, str]]:
    """Each level's name, value and whether it is proven, for the page."""
    found = []
    for name, value, bound, proven in draft.levels:
        level = Level[name]
        if level is Level.TIE:
            continue
        state = "proven" if proven else f"best known, at least {bound}" if bound is not None else ""
        found.append((LEVELS[level], value, state))
    return found
