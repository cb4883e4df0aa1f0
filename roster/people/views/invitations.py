"""Invitations and mail: who would get one, a test, and sending."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from bandops.lib import mail
from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page
from roster.people.services.invitations import (
    Guests,
    guests,
    invite_members,
    send_test_invitation,
)
from roster.people.viewer import Viewer

MENU = "season"
MOST_NAMES = 40


@page(rules.staff, MENU)
def invitations(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who would get an invitation and who would not, then the sending, as it was looked at."""
    season = viewer.this_season
    sending = request.method == "POST"
    posted = (request.POST if sending else request.GET).getlist("member")
    chosen = [pk for pk in map(whole_number, posted) if pk is not None]
    if sending:
        if not chosen:
            raise Refused("Nobody left to invite.")
        done(request, _send(viewer, guests(season, chosen)))
        return redirect("invitations")
    found = guests(season, chosen)
    context = {"guests": found, "groups": _groups(found), "by_hand": bool(chosen)}
    return render(request, "people/invitations.html", context)


def _groups(found: Guests) -> list[tuple[str, list[str]]]:
    """Who gets none, by why, in words."""
    groups = (
        ("have no email address", found.without_address),
        ("have an address that belongs to another account", found.taken),
        ("were invited and have not signed in; to invite them again, check them in the list of "
         "members", found.invited),
        ("have already signed in", found.joined),
    )  # fmt: skip
    return [(words, [m.name for m in members]) for words, members in groups if members]


def _send(viewer: Viewer, found: Guests) -> str:
    season = viewer.this_season
    result = invite_members(actor=viewer.signed_in, members=found.due, band=season.band_name)
    text = f"{result.sent} invitation{'' if result.sent == 1 else 's'} mailed."
    if result.left:
        text += f"\nThe mail server failed ({result.error}), so these wait: {_names(result.left)}"
    return text


def _names(names: Iterable[str]) -> str:
    every = list(names)
    more = len(every) - MOST_NAMES
    shown = ", ".join(every[:MOST_NAMES])
    return f"{shown} and {more} more" if more > 0 else shown


@require_POST
@page(rules.staff, MENU)
def test_mail(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Mail the person who asks, to see whether mail works: a plain test, or the invitation."""
    user = viewer.signed_in
    try:
        if request.POST.get("what") == "invitation":
            send_test_invitation(to=user, band=viewer.this_season.band_name)
        else:
            mail.refuse_unless_set_up()
            mail.send("A test from Bandops", "Email works.", user.email)
    except OSError as error:
        raise Refused(f"The email could not be sent: {error}.") from error
    done(request, f"A test email was sent to {user.email}.")
    return back(request, "set-up")
