"""Whom no notice has reached; whether a revision was replaced."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Q

from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from roster.people.models import Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank

LARGE = ("lineup__certificate", "lineup__change_notice", "lineup__dots")
"""of a revision, and not needed to tell what its notices say"""


def told_alone() -> Q:
    """Notices of members who were told in person and reached in no other way."""
    return Q(state=NoticeState.TOLD, sent_at__isnull=True, seen_at__isnull=True)


def told_notices(lineup: Lineup) -> list[Notice]:
    """Those of the event, up to this revision, by name."""
    notices = Notice.objects.filter(
        told_alone(), lineup__event=lineup.event_id, lineup__number__lte=lineup.number
    )
    return list(notices.select_related("member__person", "told_by"))


def by_rank(notices: Iterable[Notice], season: Season) -> list[tuple[Rank | None, list[Notice]]]:
    """Notices by their members' rank, in the order of the ranks; who has none comes last."""
    found: dict[int, list[Notice]] = defaultdict(list)
    rank_of = rank_queries.rank_ids(season)
    for notice in notices:
        found[rank_of.get(notice.member_id, 0)].append(notice)
    ranks: list[Rank | None] = [*rank_queries.ranks(season), None]
    groups = [(rank, found[rank.pk if rank else 0]) for rank in ranks]
    return [(rank, group) for rank, group in groups if group]


def is_newest(lineup: Lineup) -> bool:
    """True until a later revision replaces it."""
    later = Lineup.objects.filter(
        event=lineup.event_id, state=LineupState.PUBLISHED, number__gt=lineup.number
    )
    return not later.exists()


def notices_to(lineup: Lineup) -> list[Notice]:
    """All notices of the event up to this revision, in order of the revisions."""
    rows = Notice.objects.filter(
        lineup__event=lineup.event_id, lineup__number__lte=lineup.number
    ).select_related("member__person", "lineup")
    return list(rows.defer(*LARGE).order_by("lineup__number"))


def unreached(lineup: Lineup) -> list[Notice]:
    """Notices of the event, up to this revision, whose members no notice has reached since: the
    latest of each member that nobody told them in person."""
    return unreached_among(notices_to(lineup))


def unreached_among(notices: Iterable[Notice]) -> list[Notice]:
    """As ``unreached``, of notices in order of their revisions."""
    latest: dict[int, Notice] = {}
    for notice in notices:
        if notice.state not in (NoticeState.WAITING, NoticeState.TOLD):
            latest[notice.member_id] = notice
    missed = [n for n in latest.values() if n.state == NoticeState.NOT_REACHED]
    return sorted(missed, key=lambda n: n.member.person.sort_key)
