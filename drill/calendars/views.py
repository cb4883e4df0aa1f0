"""One's calendar address, and what it answers."""

from __future__ import annotations

import hashlib

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.calendars.services import calendars as services
from drill.calendars.services.calendar_entries import calendar_of
from roster.people.viewer import Viewer


@page(rules.belongs, "calendar")
def calendar(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One's own address: look at it, make a new one, switch it off."""
    user, what = viewer.signed_in, request.POST.get("what")
    if request.method == "POST":
        if what == "new":
            services.new_address(actor=user, seen=whole_number(request.POST.get("feed", "")))
            done(request, "This is your address. Older ones no longer work.")
        elif what == "off":
            services.switch_off(actor=user)
            done(request, "The address is off and no longer works.")
        else:
            raise Refused("Choose what to do with the address.")
        return redirect("calendar")
    feed = services.feed_of(user)
    address = services.address_of(feed) if feed else ""
    return render(request, "calendars/calendar.html", {"feed": feed, "address": address})


@require_safe
@page(rules.anyone)
def feed(request: HttpRequest, viewer: Viewer, token: str) -> HttpResponse:
    """The dates behind an address; the address itself is the key."""
    reader = services.reader_of(token)
    if reader is None:
        raise Http404
    content = calendar_of(reader)
    response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="band.ics"'
    response["Cache-Control"] = "private, no-cache"
    response["ETag"] = f'"{hashlib.sha256(content).hexdigest()}"'
    return get_conditional_response(request, etag=response["ETag"], response=response) or response
