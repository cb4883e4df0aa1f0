"""Fitting day: who waits, first come first."""

from __future__ import annotations

import uuid

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from roster.equipment.models import InLine
from roster.people.models import Member


def join_line(*, actor: User, member: Member, key: uuid.UUID) -> InLine:
    """They wait from now on; who waits already keeps their place."""
    with recorded(actor, "join line"):
        waiting = InLine.objects.filter(member=member, done_at__isnull=True).first()
        if waiting is not None:
            return waiting
        again = InLine.objects.filter(key=key).first()
        if again is not None:
            return again
        return InLine.objects.create(member=member, came_at=timezone.now(), key=key)


def leave_line(*, actor: User, member: Member) -> None:
    """They are served, or went away."""
    with recorded(actor, "leave line"):
        for row in InLine.objects.filter(member=member, done_at__isnull=True):
            row.done_at = timezone.now()
            row.save()
