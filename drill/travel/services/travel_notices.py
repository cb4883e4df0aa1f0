"""Notices of a posted travel list that changed: who is off it, or on it, since people read it."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from bandops.lib import mail
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.outbox.dispatch import add_job
from drill.events.models import TravelList
from drill.publishing.enums import NoticeState
from drill.publishing.services.notices import address_of, mailed, notices_wait_until
from drill.travel.models import Posting, TravelNotice
from drill.travel.services.travel_prints import group_of
from roster.people.enums import MemberStatus
from roster.people.models import Member


def tell_changes(it: TravelList) -> None:
    """Inside an action: tell active members who came on or off since the list was last posted. The
    first posting is read on the cards."""
    now = sorted(it.travellers.values_list("member_id", flat=True))
    posting, first = Posting.objects.get_or_create(event=it.event, defaults={"members": now})
    if first:
        return
    before, posting.members = set(posting.members), now
    posting.save()
    touched = before ^ set(now)
    for member in Member.objects.filter(pk__in=touched, status=MemberStatus.ACTIVE):
        _tell(it, member, member.pk in now)


def _tell(it: TravelList, member: Member, along: bool) -> None:
    """One notice a member: the newest news, none where a waiting one became untrue."""
    old = TravelNotice.objects.filter(event=it.event, member=member).first()
    if old is not None and old.state == NoticeState.WAITING:
        old.delete()
        return
    notice = old or TravelNotice(event=it.event, member=member)
    notice.along, notice.state = along, NoticeState.WAITING
    notice.not_before = notices_wait_until(it.event, timezone.now())
    notice.sent_at = notice.told_at = notice.told_by = None
    notice.save()
    _add_job(it, notice)


def _add_job(it: TravelList, notice: TravelNotice) -> None:
    add_job(
        key=f"travel-notice:{notice.pk}:{uuid.uuid4()}",
        kind="travel.notice",
        group=f"{group_of(it)}:notices",
        payload={"notice": notice.pk, "along": notice.along},
        not_before=notice.not_before,
    )


def send_notice(notice_id: int, along: bool) -> str | None:
    """Mail one notice; the state it has then, None where it is settled or untrue by now. OSError
    when the server fails."""
    waiting = TravelNotice.objects.filter(pk=notice_id, along=along, state=NoticeState.WAITING)
    notice = waiting.select_related("event", "member__person__user").first()
    if notice is None:
        return None
    url = f"{settings.SITE_URL}{reverse('card-of', args=[notice.event_id])}"
    context = {"notice": notice, "event": notice.event, "url": url}
    text = render_to_string("travel/mail/travel_notice.txt", context)
    return mailed(notice.member, f"{notice.event}: travel list", text)


def note_sent(notice_id: int, along: bool, state: str) -> None:
    """Write what became of a notice that was waiting."""
    values: dict[str, Any] = {"state": state}
    if state == NoticeState.SENT:
        values["sent_at"] = timezone.now()
    waiting = TravelNotice.objects.filter(pk=notice_id, along=along, state=NoticeState.WAITING)
    waiting.update(**values)


def tell_in_person(*, actor: User, notice: TravelNotice) -> None:
    """Staff told the member face to face."""
    with recorded(actor, "tell in person"):
        notice = TravelNotice.objects.select_for_update().get(pk=notice.pk)
        notice.state = NoticeState.TOLD
        notice.told_by, notice.told_at = actor, timezone.now()
        notice.save()


def send_again(*, actor: User, it: TravelList, notices: QuerySet[TravelNotice]) -> int:
    """Notices that reached nobody are tried once more; how many. Refused where mail is not set
    up, or where none of their members has an address."""
    mail.refuse_unless_set_up()
    with recorded(actor, "send notices again"):
        missed = notices.select_for_update(of=("self",)).filter(state=NoticeState.NOT_REACHED)
        rows = [n for n in missed.select_related("member__person__user") if address_of(n.member)]
        if not rows:
            raise Refused("Nobody here has an email address: tell them in person.")
        for notice in rows:
            notice.state, notice.not_before = NoticeState.WAITING, None
            notice.save()
            _add_job(it, notice)
    return len(rows)
