"""Publishing: what changes, who is told in which words, and the publication."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.pages import allow, page
from drill.events.posted import event_of
from drill.lineup import queries as lineup_queries
from drill.lineup.posted import posted_reason, posted_version
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services import drafts
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.wording import Names, change_sentence
from drill.publishing.services import change_notices, publishing
from drill.publishing.services.notices import notices_wait_until, telling_words
from drill.publishing.wording import distance_text
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer

MENU = "lineup"


@page(rules.staff, MENU)
def publish(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The change notice first, then the publication."""
    event = event_of(viewer, pk)
    draft, last = lineup_queries.draft(event), lineup_queries.published(event)
    if request.method == "POST":
        allow(may_edit_lineup(viewer, event))
        try:
            made = publishing.publish_lineup(
                actor=viewer.signed_in,
                event=event,
                seen_version=posted_version(request),
                seen_number=whole_number(request.POST.get("number", "")),
                reason=posted_reason(request),
            )
        except Refused as error:
            refuse(request, error)
            return redirect("publish", pk=event.pk)
        done(request, f"Revision {made.number} is published. {telling_words(made)}")
        return redirect("revision", pk=made.pk)
    context: dict[str, Any] = {"event": event, "draft": draft, "last": last}
    if draft is not None:
        built = build(event)
        notice = change_notices.change_notice(built, draft)
        number = (last.number or 0) + 1 if last else 1
        context |= {
            "notice": notice,
            "previews": change_notices.notice_previews(built, draft, notice, number),
            "waits": notices_wait_until(event, timezone.now()),
            "stale": drafts.is_stale(draft, built),
            "lacking": lacking_letters(viewer.this_season),
            "may_edit": may_edit_lineup(viewer, event),
            "cut_off_passed": past_cut_off(event),
            **notice_context(
                _to_come(notice.stored(), built), Names(event.season_id), built.problem_rank
            ),
        }
    return render(request, "lineup/publish.html", context)


def _to_come(notice: dict[str, Any], built: Built) -> dict[str, Any]:
    """Without the open spots of segments that are over: nobody fills them any more."""
    return notice | {"holes": [hole for hole in notice["holes"] if hole[0] not in built.over]}


def notice_context(notice: dict[str, Any], names: Names, rank_of: Any) -> dict[str, Any]:
    """A change notice by rank and by member, in words."""
    by_rank: dict[str, list[str]] = {}
    people = set()
    for segment, member, change, before, after in notice["changes"]:
        people.add(member)
        text = _change_text(names, segment, member, change, before, after)
        touched = (names.rank(rank_of(spot)) for spot in (after, before) if spot is not None)
        for rank in dict.fromkeys(touched):
            by_rank.setdefault(rank, []).append(text)
    return {
        "by_rank": sorted(by_rank.items(), key=lambda item: (len(item[0]), item[0])),
        "sets": [
            f"{names.segment(segment)}, set {label}: {names.spot(spot)} "
            f"{distance_text(distance, names.style)}"
            for segment, spot, label, distance in notice.get("sets", [])
        ],
        "people_touched": len(people),
        "holes": [f"{names.segment(g)} {names.spot(s)}" for g, s in notice["holes"]],
    }


def _change_text(
    names: Names, segment: str, member: str, change: str, before: str | None, after: str | None
) -> str:

    what = change_sentence(change, before, after, names)
    return f"{names.segment(segment)}: {names.member(member)} {what}"
