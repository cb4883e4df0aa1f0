"""Excerpts, section leaders, and what was heard."""

from __future__ import annotations

import datetime
import uuid

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.music.models import Excerpt, Hearing, SectionLeader
from roster.people.models import Member


def save_excerpt(*, actor: User, excerpt: Excerpt) -> Excerpt:
    """Add an excerpt or change it."""
    with recorded(actor, "save excerpt"):
        excerpt.full_clean()
        excerpt.save()
    return excerpt


def remove_excerpt(*, actor: User, excerpt: Excerpt) -> None:
    """Remove an excerpt that nobody has played."""
    with recorded(actor, "remove excerpt"):
        if excerpt.hearings.exists():
            raise Refused(f"Somebody has played “{excerpt}”: it stays.")
        excerpt.delete()


def name_section_leader(*, actor: User, leader: SectionLeader) -> SectionLeader:
    """A member hears an instrument."""
    with recorded(actor, "name section leader"):
        leader.full_clean()
        leader.save()
    return leader


def end_section_leader(*, actor: User, leader: SectionLeader) -> None:
    """They hear it no more."""
    with recorded(actor, "end section leader"):
        leader.delete()


def note_hearing(
    *,
    actor: User,
    excerpt: Excerpt,
    member: Member,
    passed: bool,
    key: uuid.UUID,
    at: datetime.datetime | None,
) -> Hearing:
    """What was heard; the same note sent twice is one, and nobody hears themselves."""
    with recorded(actor, "note music heard"):
        if member.person.user_id == actor.pk:
            raise Refused("Somebody else has to hear you.")
        found, _ = Hearing.objects.get_or_create(
            key=key,
            defaults={
                "excerpt": excerpt,
                "member": member,
                "passed": passed,
                "heard_by": actor,
                "heard_at": at or timezone.now(),
            },
        )
    return found
