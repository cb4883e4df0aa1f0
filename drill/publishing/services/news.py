"""What a member has still to be told about an event: all that was published since they last knew,
as it holds now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from hashlib import md5

from django.db.models import Q

from bandops.lib.keys import key
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.lineup.services.proposals import placements_of
from drill.publishing.core.netting import Content, net, still_to_come
from drill.publishing.enums import SETTLED
from drill.publishing.models import Notice
from drill.publishing.queries import LARGE


@dataclass(frozen=True)
class News:
    """A member's notices that nobody has settled, in order of their revisions, or the last one
    where all are; and what they come to by the newest revision."""

    notices: tuple[Notice, ...]
    content: Content

    @property
    def newest(self) -> Notice:
        return self.notices[-1]

    @property
    def key(self) -> str:
        return news_key(self.notices)


def news_key(notices: Sequence[Notice]) -> str:
    """Which news these are together: a page that showed others cannot say that they are told."""
    if len(notices) == 1:
        return notices[0].news_key
    words = " ".join(notice.news_key for notice in notices).encode()
    return md5(words, usedforsecurity=False).hexdigest()


def news_of(lineup: Lineup, members: Collection[int]) -> dict[int, News]:
    """Member id -> what there is to tell them, by this revision, the newest; nothing of what is
    over."""
    rows = Notice.objects.filter(
        lineup__event=lineup.event_id, lineup__state=LineupState.PUBLISHED, member__in=members
    )
    mine: dict[int, list[Notice]] = defaultdict(list)
    rows = rows.select_related("lineup", "member__person").defer(*LARGE)
    for notice in rows.order_by("lineup__number"):
        mine[notice.member_id].append(notice)
    told = {member: to_tell(notices) for member, notices in mine.items()}
    several = any(len(notices) > 1 for notices in told.values())
    seats = seats_of(placements_of(lineup)) if several else {}
    over = {key(pk) for pk in lineup_queries.segments_over(lineup.event)} if told else set()
    found = {}
    for member, notices in told.items():
        contents = [n.content for n in notices]
        content = net(contents, key(member), seats) if len(contents) > 1 else contents[0]
        found[member] = News(tuple(notices), still_to_come(content, over))
    return found


def keys_together(notices: Iterable[Notice]) -> dict[int, str]:
    """Member id -> the key of their news, of all notices of an event in order."""
    mine: dict[int, list[Notice]] = defaultdict(list)
    for notice in notices:
        mine[notice.member_id].append(notice)
    return {member: news_key(to_tell(rows)) for member, rows in mine.items()}


def to_tell(notices: Iterable[Notice]) -> list[Notice]:
    """Of a member's notices those that are not settled, the last one where all are. The first
    revision is read on the card: it tells of changes only where somebody is to stand by."""
    every = list(notices)
    open_ones = [n for n in every if n.state not in SETTLED]
    later = [n for n in open_ones if not _is_first(n) or n.content.get("stand_by")]
    return later or open_ones[-1:] or every[-1:]


def meant(notice: Notice, news: str) -> list[Notice] | None:
    """The notices, locked, of whoever says that they know the ``news`` (its key) on a page that
    told it with this notice; None where that news has changed since."""
    found = _locked(notice)
    this = next(n for n in found if n.pk == notice.pk)
    if not news or this.state in SETTLED:
        return [this]
    told = to_tell(found)
    for n in range(1, len(told) + 1):
        if news_key(told[:n]) == news:
            before = [n for n in found if _is_first(n) and n not in told]
            return [*before, *told[:n]]
    return [this] if news == this.news_key else None


def is_all_settled(notice: Notice) -> bool:
    """True where the member knows of all that came after this notice."""
    later = Notice.objects.filter(
        member=notice.member_id,
        lineup__event=notice.lineup.event_id,
        lineup__state=LineupState.PUBLISHED,
        lineup__number__gt=notice.lineup.number,
    )
    return not later.exclude(state__in=SETTLED).exists()


def meant_up_to(notice: Notice) -> list[Notice]:
    """The member's notices that nobody settled, locked, up to this one."""
    number = notice.lineup.number or 0
    return [n for n in _locked(notice) if (n.lineup.number or 0) <= number]


def _locked(notice: Notice) -> list[Notice]:
    """This one, and those of the member and the event that are not settled."""
    rows = Notice.objects.filter(
        Q(pk=notice.pk) | ~Q(state__in=SETTLED),
        member=notice.member_id,
        lineup__event=notice.lineup.event_id,
        lineup__state=LineupState.PUBLISHED,
    )
    locked = rows.select_for_update(of=("self",)).select_related("lineup").defer(*LARGE)
    return list(locked.order_by("lineup__number"))


def _is_first(notice: Notice) -> bool:
    return notice.lineup.number == 1
