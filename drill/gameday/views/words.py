"""What somebody at the desk is told of their wish, and of their decision."""

from __future__ import annotations

from drill.gameday.enums import ClashState
from drill.gameday.models import Clash
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import Outcome
from drill.gameday.services.swaps import Swap


def outcome_words(wish: Wish, outcome: Outcome) -> str:
    """Of a wish that changed no lineup."""
    clash = outcome.clash
    if clash is None and wish.out is None:
        return f"{wish.spot}: {wish.into} marches it already."
    if clash is None:
        return f"{wish.out} is out. The lineup says so already: nothing to fill."
    who = wish.into or "nobody"
    if clash.leaves:
        why = f"{clash.wanted} marches another spot by now"
    elif clash.is_away:
        why = f"{who} could not step in like this"
    elif clash.standing is None:
        why = "the spot was opened meanwhile"
    else:
        why = "somebody else filled it meanwhile"
    noted = f" That {wish.out} is out is noted." if wish.out else ""
    return f"{clash}: {why}.{noted} Decide on the desk."


def late_swap_words(wish: Swap) -> str:
    """Of a swap that became a card."""
    return f"{wish.first} and {wish.second}: one of them moved meanwhile. Decide on the desk."


def decided_words(clash: Clash) -> str:
    """Of a card that was decided."""
    if clash.leaves and clash.state == ClashState.KEPT and clash.standing is None:
        return f"{clash.wanted} stays where they march; {clash.spot} stays open."
    member = clash.chosen if clash.state == ClashState.CHANGED else clash.standing
    if member is None:
        return f"{clash.spot} stays open."
    if member == clash.member_out:
        return f"{clash.spot}: {member} is out. Fill it on the desk."
    left = " What they left is open: fill it on the desk." if _opened(clash) else ""
    return f"{clash.spot}: {member} marches.{left}"


def _opened(clash: Clash) -> bool:
    return bool(clash.leaves) and clash.state == ClashState.CHANGED
