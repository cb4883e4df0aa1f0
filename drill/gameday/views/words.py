"""What somebody at the desk is told of their wish, and whether it is news."""

from __future__ import annotations

from django.http import HttpRequest

from bandops.lib.accounts.models import User
from bandops.lib.dates import hour_words
from bandops.lib.web.pages import is_sent_later
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import Outcome
from drill.gameday.services.swaps import Swap
from roster.people.viewer import Viewer


def outcome_words(wish: Wish, outcome: Outcome) -> str:
    """Of a wish that changed no lineup."""
    clash = outcome.clash
    if outcome.here_at is not None and wish.out is not None:
        at = hour_words(outcome.here_at, wish.out.season.zone)
        return (
            f"{wish.out} is out: saved. But they were marked here later, at {at}: "
            "nobody moved. Decide at the desk."
        )
    if clash is None and wish.out is None:
        return f"{wish.spot}: {wish.into} already marches it."
    if clash is None and outcome.over and not outcome.change:
        return over_words(wish, outcome)
    if clash is None:
        return f"{wish.out} is out. The lineup already has it: nothing to fill."
    who = wish.into or "nobody"
    if clash.leaves:
        why = f"{clash.wanted} already marches another spot"
    elif clash.is_away:
        why = f"{who} could not step in this way"
    elif clash.standing is None:
        why = "the spot was just opened"
    else:
        why = "somebody else just filled it"
    noted = f" {wish.out} is marked out." if wish.out else ""
    return f"{clash}: {why}.{noted} Decide at the desk."


def over_words(wish: Wish, outcome: Outcome) -> str:
    """Of a report that arrived when its segments were over."""
    over = ", ".join(s.name for s in outcome.over)
    return f"{wish.out} was marked out. {over}: already over, so nobody steps in."


def is_known(request: HttpRequest, viewer: Viewer, decided_by: User | None) -> bool:
    """What waited on the phone was done by the same person before: its answer was lost, and it is
    no news."""
    return is_sent_later(request) and decided_by is not None and decided_by == viewer.user


def late_swap_words(wish: Swap) -> str:
    """Of a swap that became a card."""
    return f"{wish.first} and {wish.second}: one of them just moved. Decide at the desk."
