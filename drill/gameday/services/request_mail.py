"""The mail that tells the director what staff ask."""

from __future__ import annotations

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from bandops.lib import mail
from bandops.lib.accounts.models import User
from drill.gameday.enums import RequestState
from drill.gameday.models import FillRequest
from drill.gameday.wording import day_change_sentences
from drill.lineup.wording import Names
from roster.people.enums import Role
from roster.people.viewer import deputies_today


def send_request(request_id: int) -> None:
    """Mail a request that still waits to those who may decide it, with where to do it."""
    rows = FillRequest.objects.select_related("event__season", "asked_by", "member_out__person")
    asked = rows.filter(pk=request_id, state=RequestState.WAITING).first()
    if asked is None:
        return
    context = {
        "asked": asked,
        "lines": day_change_sentences(asked.seats, Names(asked.event.season_id)),
        "link": f"{settings.SITE_URL}{reverse('desk-of', args=[asked.event_id])}",
    }
    text = render_to_string("gameday/mail/asked.txt", context)
    subject = f"{asked.event}: {asked.asked_by} asks for your OK"
    for user in deciders(asked):
        mail.send(subject, text, user.email)


def deciders(asked: FillRequest) -> list[User]:
    """The season's directors and who is deputy today; a deputy not of what they asked for."""
    season = asked.event.season
    grants = season.role_grants.filter(role=Role.DIRECTOR, user__is_active=True)
    directors = {g.user.pk: g.user for g in grants.select_related("user")}
    deputies = {d.user.pk: d.user for d in deputies_today(season) if d.user != asked.asked_by}
    return list((directors | deputies).values())
