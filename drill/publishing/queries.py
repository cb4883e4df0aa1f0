"""Whom no notice has reached; whether a revision was replaced."""

from __future__ import annotations

from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice


def is_newest(lineup: Lineup) -> bool:
    """True until a later revision replaces it."""
    later = Lineup.objects.filter(
        event=lineup.event_id, state=LineupState.PUBLISHED, number__gt=lineup.number
    )
    return not later.exists()


def unreached(lineup: Lineup) -> list[Notice]:
    """Notices of the event, up to this revision, whose members no notice has reached since:
    the latest of each member."""
    notices = Notice.objects.filter(
        lineup__event=lineup.event_id, lineup__number__lte=lineup.number
    )
    latest: dict[int, Notice] = {}
    for notice in notices.select_related("member__person", "lineup").order_by("lineup__number"):
        if notice.state != NoticeState.WAITING:
            latest[notice.member_id] = notice
    missed = [n for n in latest.values() if n.state == NoticeState.NOT_REACHED]
    return sorted(missed, key=lambda n: n.member.person.sort_key)
