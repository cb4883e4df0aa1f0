"""Releasing a member: the spot, the alternate's place and all events to come at once."""

from __future__ import annotations

import datetime

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.events.models import Event, Traveller
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Origin
from drill.lineup.core.solver import Stage
from drill.lineup.enums import LineupState
from drill.lineup.models import Backup, Block, Lineup, LineupRow, Pin
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_settled
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks.services.holdings import leave_places


def future_spots(member: Member) -> list[LineupRow]:
    """Where the member stands in lineups of events to come: newest revisions and drafts."""
    today = member.season.today()
    newest = lineup_queries.latest_numbers(member.season).values_list("pk", flat=True)
    rows = LineupRow.objects.filter(
        Q(lineup__in=list(newest)) | Q(lineup__state=LineupState.DRAFT),
        member=member,
        lineup__event__date__gte=today,
    )
    return list(
        rows.select_related("lineup__event", "segment", "spot__rank").order_by(
            "lineup__event__date", "lineup_id", "segment__order"
        )
    )


def release_member(*, actor: User, member: Member, on: datetime.date) -> list[Lineup]:
    """The member leaves. Drafts to come lose them; a published lineup gets a new revision with
    the hole, whose notice says who is touched. Returns those revisions."""
    with recorded(actor, "release member"):
        member = (
            Member.objects.select_for_update().select_related("person", "season").get(pk=member.pk)
        )
        if member.status == MemberStatus.LEFT:
            raise Refused(f"{member} has left already.")
        rows = future_spots(member)
        published = {r.lineup.event_id for r in rows if r.lineup.number is not None}
        drafted = {r.lineup.event_id for r in rows if r.lineup.number is None}
        leave_places(actor=actor, member=member, on=on)
        Backup.objects.filter(member=member).delete()
        Pin.objects.filter(member=member, event__date__gte=on).delete()
        Block.objects.filter(member=member, event__date__gte=on).delete()
        Traveller.objects.filter(member=member, list__event__date__gte=on).delete()
        member.status = MemberStatus.LEFT
        member.save()
        made = []
        for event in Event.objects.filter(pk__in=published | drafted).order_by("date"):
            had_draft = lineup_queries.draft(event) is not None
            draft = open_draft(actor=actor, event=event)
            _empty(draft, member)
            if event.pk in published and not had_draft:
                made.append(
                    publish_settled(actor=actor, draft=draft, reason="A member left the band.")
                )
    return made


def _empty(draft: Lineup, member: Member) -> None:
    draft.version += 1
    draft.rows.filter(member=member).update(
        member=None,
        origin=Origin.HOLE,
        doubtful=False,
        reason={"code": "left"},
        changed_in=draft.version,
    )
    draft.certificate = None
    draft.stage = Stage.BY_HAND
    draft.save()
