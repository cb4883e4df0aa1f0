"""Releasing a member: the spot, the alternate's place and all events to come at once."""

from __future__ import annotations

import datetime

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.backups.services.backups import remove_backup
from drill.events import queries as event_queries
from drill.leaving.services.following import follow_members
from drill.lineup import queries as lineup_queries
from drill.lineup.enums import LineupState
from drill.lineup.models import Backup, Block, LineupRow
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks.services.holdings import leave_places


def future_spots(member: Member) -> list[LineupRow]:
    """Where the member stands in lineups of events to come, but in what is over: newest revisions
    and drafts."""
    newest = lineup_queries.latest_numbers(member.season).values_list("pk", flat=True)
    rows = LineupRow.objects.filter(
        Q(lineup__in=list(newest)) | Q(lineup__state=LineupState.DRAFT),
        member=member,
        lineup__event__in=event_queries.coming_events(member.season),
    )
    rows = rows.select_related("lineup__event", "segment__event", "spot__rank")
    order = ("lineup__event__date", "lineup_id", "segment__order")
    return [row for row in rows.order_by(*order) if not event_queries.is_over(row.segment)]


def release_member(*, actor: User, member: Member, on: datetime.date) -> list[str]:
    """The member leaves for good, ``on`` is the first day without them; what followed, in
    sentences. Refused when they have left, or when a lineup they stand in is the director's."""
    with recorded(actor, "release member"):
        member = (
            Member.objects.select_for_update(of=("self",))
            .select_related("person", "season")
            .get(pk=member.pk)
        )
        if member.status == MemberStatus.LEFT:
            raise Refused(f"{member} has already left.")
        leave_places(actor=actor, member=member, on=on)
        for backup in Backup.objects.filter(member=member).select_related("spot"):
            remove_backup(actor=actor, backup=backup)
        Block.objects.filter(member=member, event__date__gte=on).delete()
        member.status = MemberStatus.LEFT
        member.save()
        return follow_members(actor=actor, season=member.season, member_ids=[member.pk])
