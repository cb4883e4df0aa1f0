"""Notices leave by mail. A mail says what holds when it leaves: one that kept the quiet hours may
have been overtaken by a newer revision meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.keys import key
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.models import Lineup
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.publishing.core.netting import net
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from drill.publishing.services.notices import mailed, notice_mail
from drill.publishing.services.slips import told_since


@dataclass(frozen=True)
class Sent:
    """The notices that one mail spoke for, and the state they have by it."""

    notices: tuple[int, ...]
    state: str


def send_notice(notice_id: int) -> Sent:
    """Mail what a waiting notice says, with whatever else its member is told since.

    Sent only when a mail server took it, not reached where there is no address or mail is not set
    up. Sending may happen twice. OSError when the server fails.
    """
    related = ("lineup__event__season", "member__person__user")
    notice = Notice.objects.select_related(*related).get(pk=notice_id)
    if notice.state != NoticeState.WAITING:
        return Sent((), str(notice.state))
    told = _told_together(notice)
    waiting = tuple(n.pk for n in told if n.state == NoticeState.WAITING)
    said = _what_holds(notice, told) if len(told) > 1 else notice
    subject, text = notice_mail(said, Names(said.lineup.event.season_id))
    return Sent(waiting, mailed(notice.member, subject, text))


def note_sent(sent: Sent) -> None:
    """Write what became of notices that were waiting."""
    values: dict[str, Any] = {"state": sent.state}
    if sent.state == NoticeState.SENT:
        values["sent_at"] = timezone.now()
    waiting = Notice.objects.filter(pk__in=sent.notices, state=NoticeState.WAITING)
    waiting.update(**values)


def _told_together(notice: Notice) -> list[Notice]:
    """The member's notices from the first that waits on, in order of their revisions."""
    event = notice.lineup.event
    waiting = Notice.objects.filter(
        member=notice.member, lineup__event=event, state=NoticeState.WAITING
    )
    first = Lineup.objects.filter(notices__in=waiting).order_by("number").first()
    return told_since(first or notice.lineup, [notice.member])[notice.member]


def _what_holds(notice: Notice, told: list[Notice]) -> Notice:
    """What the notices come to by the newest revision, unsaved."""
    newest = lineup_queries.published(notice.lineup.event) or notice.lineup
    newest.event = notice.lineup.event
    seats = seats_of(placements_of(newest))
    content = net([n.content for n in told], key(notice.member.pk), seats)
    return Notice(lineup=newest, member=notice.member, content=dict(content))
