"""Sentences about coverage and chances."""

from __future__ import annotations

from drill.backups.core.coverage import Answer, SpotCoverage, State
from drill.backups.core.usual import UsualChance
from drill.lineup.wording import Names


def coverage_words(row: SpotCoverage, names: Names) -> str:
    """Who answers for a spot: 'Xen directly; hangs on Xen'."""
    if row.state is State.HOLE:
        return "nobody marches it now"
    if row.answer is Answer.NONE:
        rule = f", because of {row.rule.value}" if row.rule else ""
        return f"nobody could step in{rule}"
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


def chances_words(performances: int, rehearsals: int, average: float, own: bool) -> str:
    """Where the chances of being out come from; ``own`` when members differ."""
    if not performances and not rehearsals:
        return f"Everybody gets the same chance, {percent_words(average)}."
    seen = " and ".join(
        f"{n} {one if n == 1 else one + 's'}"
        for n, one in ((performances, "performance"), (rehearsals, "rehearsal"))
        if n
    )
    text = f"From {seen} of this season: {percent_words(average)} on average."
    if not own:
        return f"{text} Members differ no more than luck would explain."
    return f"{text} Each member's own number leans toward that, more so when we know little."


def usual_chance_words(usual: UsualChance) -> str:
    """The chance that a member with nothing reported is out, and where the figure comes from."""
    text = f"{percent_words(usual.value)} of members with nothing reported miss an event"
    record = "no performance is over yet"
    if usual.occasions:
        shows = "1 performance" if usual.performances == 1 else f"{usual.performances} performances"
        missing = f"{round(usual.missed)} of {usual.occasions} times a member was missing"
        record = f"{shows} so far: {missing}"
    by_hand = "" if usual.given is None else ", as the season says"
    return f"{text}{by_hand} ({record})."


def percent_words(chance: float) -> str:
    """A chance as staff say it: 'under 1%', '19%', 'over 99%'."""
    if 1e-9 < chance < 0.01:
        return "under 1%"
    if 0.99 < chance < 1 - 1e-9:
        return "over 99%"
    return f"{round(100 * chance)}%"
