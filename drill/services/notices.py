"""Notices of a published lineup: sending, seeing, telling in person."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.mail import send_mail
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.enums import NoticeState
from drill.models import Notice
from drill.wording import Names, notice_sentences
from roster.models import Member


def notice_mail(notice: Notice) -> tuple[str, str]:
    """Subject and text: what changed for the member and where to look, never a reason."""
    lineup = notice.lineup
    context = {
        "notice": notice,
        "lineup": lineup,
        "event": lineup.event,
        "sentences": notice_sentences(notice.content, Names(lineup.event.season_id)),
        "url": f"{settings.SITE_URL}/card/",
    }
    text = render_to_string("drill/mail/notice.txt", context)
    return f"{lineup.event}: lineup, revision {lineup.number}", text


def send_notice(notice_id: int) -> str:
    """Send one notice by mail; the state it has then. Sending may happen twice, never zero times
    unless the member has no address."""
    notice = Notice.objects.select_related("lineup__event__season", "member__person__user").get(
        pk=notice_id
    )
    if notice.state != NoticeState.WAITING:
        return str(notice.state)
    person = notice.member.person
    address = person.email or (person.user.email if person.user else "")
    if not address:
        return NoticeState.NOT_REACHED.value
    subject, text = notice_mail(notice)
    send_mail(subject, text, None, [address])
    return NoticeState.SENT.value


def note_sent(notice_id: int, state: str) -> None:
    """Write what became of a notice that was waiting."""
    values: dict[str, Any] = {"state": state}
    if state == NoticeState.SENT:
        values["sent_at"] = timezone.now()
    Notice.objects.filter(pk=notice_id, state=NoticeState.WAITING).update(**values)


def note_seen(*, actor: User, member: Member, lineup_ids: list[int]) -> None:
    """The member opened their card: their notices of those lineups are seen."""
    unseen = Notice.objects.filter(
        Q(member=member, lineup_id__in=lineup_ids) & Q(seen_at__isnull=True)
    )
    if unseen.exists():
        with recorded(actor, "see notice"):
            unseen.update(state=NoticeState.SEEN, seen_at=timezone.now())


def tell_in_person(*, actor: User, notice: Notice) -> Notice:
    """Staff told the member face to face."""
    with recorded(actor, "tell in person"):
        notice.state = NoticeState.TOLD
        notice.told_by, notice.told_at = actor, timezone.now()
        notice.save()
    return notice
