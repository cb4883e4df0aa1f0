"""Notices of a published lineup: sending, seeing, telling in person."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Sequence
from dataclasses import astuple
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.utils import timezone

from bandops.lib import mail
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words
from bandops.lib.errors import Refused
from bandops.lib.outbox.dispatch import add_job, start_on_commit
from bandops.lib.outbox.models import Job
from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.lineup.wording import Names
from drill.publishing.core.quiet_hours import wait_until
from drill.publishing.core.telling import Told
from drill.publishing.enums import SETTLED, NoticeState
from drill.publishing.models import Notice
from drill.publishing.queries import told_alone
from drill.publishing.services.news import meant, meant_up_to
from drill.publishing.services.print_jobs import group_of
from drill.publishing.wording import notice_sentences
from roster.people.models import Member

MOST_NAMED = 4
"""whom no mail reaches, by name"""


def notices_wait_until(event: Event, now: datetime.datetime) -> datetime.datetime | None:
    """Until when notices of the event wait: the end of the season's quiet hours, or None."""
    season = event.season
    quiet = None
    if season.quiet_from is not None and season.quiet_until is not None:
        quiet = (season.quiet_from, season.quiet_until)
    call = event.called_at or event.day_starts_at
    return wait_until(now, quiet, season.zone, call)


def notice_content(told: Told) -> dict[str, Any]:
    """What a notice stores: keys and codes, so that erasing a name reaches it."""
    return {
        "changes": [[c.segment, c.change.value, c.before, c.after] for c in told.own],
        "sets": [list(astuple(m)) for m in told.own_sets],
        "backups": [list(astuple(m)) for m in told.backup_sets],
        "rank": [[c.segment, c.member, c.change.value, c.before, c.after] for c in told.rank],
        "rank_sets": [list(astuple(m)) for m in told.rank_sets],
        "counts": [list(astuple(m)) for m in told.counts],
    }


def notice_mail(notice: Notice, names: Names) -> tuple[str, str]:
    """Subject and text: what changed for the member and where to look, never a reason."""
    lineup = notice.lineup
    content = notice.content
    parts = ("changes", "stand_by", "sets", "backups", "counts")
    own = any(content.get(part) for part in parts)
    context = {
        "notice": notice,
        "lineup": lineup,
        "event": lineup.event,
        "sentences": notice_sentences(content, names),
        "page": "Your card" if own else "Your rank",
        "url": f"{settings.SITE_URL}{'/card/' if own else '/my-rank/'}",
    }
    text = render_to_string("publishing/mail/notice.txt", context)
    return f"{lineup.event}: lineup, revision {lineup.number}", text


def deliver(notice: Notice) -> None:
    """Have a waiting notice sent, when its quiet hours are over."""
    add_job(
        key=f"notice:{notice.pk}",
        kind="publishing.notice",
        group=group_of(notice.lineup),
        payload={"notice": notice.pk},
        not_before=notice.not_before,
    )


def telling_words(lineup: Lineup) -> str:
    """How those whom a new revision touches come to know of it, said to whoever published it."""
    notices = lineup.notices.select_related("member__person__user")
    unreachable = [notice for notice in notices if not address_of(notice.member)]
    if not notices:
        return "Nobody needs to be told."
    if not mail.leaves():
        return mail.why_none()
    if len(unreachable) == len(notices):
        return "Nobody it affects has an email address: print the slips or tell them."
    waits = notices_wait_until(lineup.event, timezone.now())
    if waits is None:
        words = "The people it affects are being emailed."
    else:
        words = f"Their emails wait until {moment_words(waits, lineup.event.zone)}."
    if unreachable:
        names = ", ".join(str(notice.member) for notice in unreachable[:MOST_NAMED])
        words += f" No email address: {names}{' and others' * (len(unreachable) > MOST_NAMED)}."
    return words


def tell_to_stand_by(
    lineup: Lineup, member: Member, seats: Sequence[tuple[str, str, str | None]]
) -> Notice:
    """The member was considered for seats and is not needed: (segment, spot, who marches it).

    What the revision told them already is told again with it.
    """
    notice, made = Notice.objects.get_or_create(lineup=lineup, member=member)
    if not made and notice.state != NoticeState.WAITING:
        Job.objects.filter(key=f"notice:{notice.pk}", done_at__isnull=False).delete()
        notice.state = NoticeState.WAITING
        notice.sent_at = notice.seen_at = notice.confirmed_at = None
        notice.told_by = notice.told_at = None
    notice.content = notice.content | {"stand_by": [list(seat) for seat in seats]}
    notice.not_before = notices_wait_until(lineup.event, timezone.now())
    notice.save()
    deliver(notice)
    return notice


def mailed(member: Member, subject: str, text: str) -> str:
    """Mail a member; the state their notice has then. OSError when the server fails."""
    address = address_of(member)
    left = bool(address) and mail.send(subject, text, address)
    return (NoticeState.SENT if left else NoticeState.NOT_REACHED).value


def address_of(member: Member) -> str:
    """Where the member gets mail, empty for nowhere."""
    person = member.person
    return person.email or (person.user.email if person.user else "")


def note_seen(*, actor: User, member: Member, lineups: QuerySet[Lineup]) -> None:
    """The member opened their card: their notices of those lineups are seen."""
    unseen = Notice.objects.filter(member=member, lineup__in=lineups, seen_at__isnull=True).exclude(
        state__in=SETTLED
    )
    if unseen.exists():
        with recorded(actor, "see notice"):
            unseen.update(state=NoticeState.SEEN, seen_at=timezone.now())


def confirm_notice(
    *, actor: User, notice: Notice, at: datetime.datetime | None = None, news: str = ""
) -> Notice:
    """The member says that they have read it; saying it twice is saying it once. ``at`` is when
    they said so, None for now. ``news`` is the key of what they read, which may tell earlier
    notices with this one; Refused where that has changed since."""
    with recorded(actor, "confirm notice"):
        read = meant(notice, news)
        if read is None:
            raise Refused("There is more news for you: open your card and read it again.")
        said = at or timezone.now()
        for row in read:
            if row.state != NoticeState.CONFIRMED:
                row.state, row.confirmed_at = NoticeState.CONFIRMED, said
                row.seen_at = row.seen_at or said
                row.save()
    return read[-1]


def tell_in_person(
    *, actor: User, notice: Notice, at: datetime.datetime | None = None, news: str = ""
) -> Notice:
    """Staff or the rank's leader told the member face to face; ``at`` is when, None for now.
    Of two who did, whoever was first stays named. ``news`` is the key of what was told, which may
    be earlier notices with this one; Refused where that has changed since."""
    with recorded(actor, "tell in person"):
        told = meant(notice, news)
        if told is None:
            raise Refused(f"There is more to tell {notice.member}: look again, then tell them.")
        at = at or timezone.now()
        for row in told:
            was_told = row.state == NoticeState.TOLD and row.told_at and row.told_at <= at
            if row.state != NoticeState.CONFIRMED and not was_told:
                row.state, row.told_by, row.told_at = NoticeState.TOLD, actor, at
                row.save()
    return told[-1]


def tell_all_in_person(*, actor: User, notices: QuerySet[Notice]) -> int:
    """Staff told several members face to face, all at once, with what earlier revisions had for
    them; how many were not told before."""
    with recorded(actor, "tell in person"):
        rows = list(notices.select_for_update(of=("self",)).exclude(state__in=SETTLED))
        now = timezone.now()
        for notice in rows:
            for row in meant_up_to(notice):
                row.state, row.told_by, row.told_at = NoticeState.TOLD, actor, now
                row.save()
    return len(rows)


def not_told_after_all(*, actor: User, notices: QuerySet[Notice]) -> int:
    """Take back that members were told in person, where nothing else has reached them."""
    with recorded(actor, "take back told in person"):
        rows = list(notices.select_for_update(of=("self",)).filter(told_alone()))
        for notice in rows:
            notice.state, notice.told_by, notice.told_at = NoticeState.NOT_REACHED, None, None
            notice.save()
    return len(rows)


def send_again(*, actor: User, notices: QuerySet[Notice]) -> int:
    """Notices that reached nobody are tried once more; how many. Refused where mail is not set
    up, or where none of their members has an address."""
    mail.refuse_unless_set_up()
    with recorded(actor, "send notices again"):
        missed = notices.select_for_update(of=("self",)).filter(state=NoticeState.NOT_REACHED)
        rows = [
            n
            for n in missed.select_related("member__person__user", "lineup")
            if address_of(n.member)
        ]
        if not rows:
            raise Refused("Nobody here has an email address: tell them in person.")
        for notice in rows:
            notice.state, notice.not_before = NoticeState.WAITING, None
            notice.save()
            add_job(
                key=f"notice:{notice.pk}:{uuid.uuid4()}",
                kind="publishing.notice",
                group=group_of(notice.lineup),
                payload={"notice": notice.pk},
            )
    return len(rows)


def send_now(*, actor: User, lineup: Lineup) -> int:
    """Notices that keep the quiet hours go out at once; how many there were."""
    with recorded(actor, "send notices now"):
        waiting = lineup.notices.select_for_update().filter(
            state=NoticeState.WAITING, not_before__isnull=False
        )
        keys = [f"notice:{pk}" for pk in waiting.values_list("pk", flat=True)]
        waiting.update(not_before=None)
        jobs = Job.objects.filter(key__in=keys, done_at__isnull=True)
        jobs.update(not_before=None)
        start_on_commit(jobs.values_list("pk", flat=True))
    return len(keys)
