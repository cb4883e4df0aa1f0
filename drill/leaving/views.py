"""Releasing a member from the band."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.leaving.services.releasing import future_spots, release_member
from drill.lineup.rules import may_edit_lineup
from roster.people import queries as people_queries
from roster.people.viewer import Viewer


@page(rules.staff, "people")
def release(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member leaves: where they stand first, then the release."""
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=pk)
    if request.method == "POST":
        today = viewer.this_season.today()
        followed = release_member(actor=viewer.signed_in, member=member, on=today)
        done(request, "\n".join([f"{member} left the band.", *followed]))
        return redirect("member", pk=pk)
    spots = future_spots(member)
    events = {row.lineup.event for row in spots}
    closed = sorted(str(event) for event in events if not may_edit_lineup(viewer, event))
    context = {"member": member, "spots": spots, "closed": closed}
    return render(request, "leaving/release.html", context)
