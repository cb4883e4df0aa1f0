"""The slips of an event: who gets one since they were printed last, and printing them all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.publishing.enums import SETTLED, NoticeState
from drill.publishing.models import Notice
from roster.people.models import Member


@dataclass(frozen=True)
class Count:
    """How many people have a slip that was not printed yet, and how many have one at all."""

    new: int
    all: int


def slips_told(event: Event, *, again: bool) -> dict[Member, list[Notice]]:
    """Whom revisions after the first told something, with what no slip says yet, or with all of it
    ``again``; in order of name."""
    rows = Notice.objects.filter(
        lineup__event=event, lineup__state=LineupState.PUBLISHED, lineup__number__gt=1
    )
    if not again:
        rows = rows.filter(slip_printed_at__isnull=True)
    found: dict[Member, list[Notice]] = defaultdict(list)
    order = ("member__person__sort_key", "member_id", "lineup__number")
    for notice in rows.select_related("member__person", "lineup").order_by(*order):
        found[notice.member].append(notice)
    return dict(found)


def told_since(lineup: Lineup, members: Iterable[Member]) -> dict[Member, list[Notice]]:
    """What the revision and those after it told these members, and what revisions before it (but
    the first) had for them and nobody knows that they saw; in order of the revisions."""
    found: dict[Member, list[Notice]] = {member: [] for member in members}
    missed = ~Q(state__in=(*SETTLED, NoticeState.SEEN)) & Q(slip_printed_at__isnull=True)
    rows = Notice.objects.filter(
        Q(lineup__number__gte=lineup.number) | missed & Q(lineup__number__gt=1),
        lineup__event=lineup.event_id,
        lineup__state=LineupState.PUBLISHED,
        member__in=found,
    )
    for notice in rows.select_related("member", "lineup").order_by("lineup__number"):
        found[notice.member].append(notice)
    return found


def count_slips(event: Event) -> Count:
    """People, not notices."""
    rows = Notice.objects.filter(
        lineup__event=event, lineup__state=LineupState.PUBLISHED, lineup__number__gt=1
    )
    told: dict[int, bool] = {}
    for member, printed in rows.values_list("member_id", "slip_printed_at"):
        told[member] = told.get(member, False) or printed is None
    return Count(sum(told.values()), len(told))


def note_printed(*, actor: User, told: Mapping[Member, list[Notice]]) -> None:
    """What these slips say is on paper."""
    notices = [notice.pk for those in told.values() for notice in those]
    with recorded(actor, "print slips"):
        Notice.objects.filter(pk__in=notices).update(slip_printed_at=timezone.now())


def slips_to_print(event: Event, *, again: bool) -> dict[Member, list[Notice]]:
    """As ``slips_told``; Refused where nobody is to have one."""
    found = slips_told(event, again=again)
    if lineup_queries.published(event) is None:
        raise Refused("Nothing is published for this event yet.")
    if not found:
        what = "Nothing has changed since revision 1" if again else "All slips are printed"
        raise Refused(f"{what}: no slips to print.")
    return found
