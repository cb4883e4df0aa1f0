"""The desk: handing out and taking back, with or without network."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import is_ours, page
from roster.equipment import queries
from roster.equipment.forms.fields import find
from roster.equipment.forms.items import HandOutForm, TakeBackForm
from roster.equipment.forms.work import tags_in
from roster.equipment.models import Issue
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import issuing
from roster.equipment.services.remarks import remarks
from roster.equipment.views.frame import MENU, show
from roster.equipment.wording import size_of
from roster.people.viewer import Viewer

TAB = "equipment-desk"
LATEST = 12


@page(keeps_equipment, MENU)
def desk(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Hand out and take back; the forms wait on the device where there is no network."""
    season = viewer.this_season
    member = whole_number(request.GET.get("member", ""))
    asked = find(request.GET["tag"]) if request.GET.get("tag") else None
    is_out = asked is not None and bool(asked.out)  # type: ignore[attr-defined]
    tag = asked.tag if asked is not None else ""
    told = {"member": member, "tag": "" if is_out else tag}
    out = HandOutForm(season, initial={"key": uuid.uuid4(), **told})
    back = TakeBackForm.fresh(tag if is_out else "")
    context = {"out": out, "back": back, "latest": _latest(), "to_take_back": is_out}
    return keep_copy(viewer, show(request, viewer, TAB, "equipment/desk.html", context))


def _latest() -> list[Issue]:
    rows = Issue.objects.select_related("item__kind", "member__person")
    return list(rows.order_by("-issued_at", "-id")[:LATEST])


@require_POST
@page(keeps_equipment, MENU)
def hand_out(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """An item to a member."""
    form = HandOutForm(viewer.this_season, request.POST)
    if not form.is_valid():
        context = {"out": form, "back": TakeBackForm.fresh()}
        return show(request, viewer, TAB, "equipment/desk.html", context | {"latest": _latest()})
    told = form.told()
    item = told["tag"]
    issue = issuing.hand_out(
        actor=viewer.signed_in,
        item=item,
        member=told["member"],
        condition=item.condition if told["condition"] is None else told["condition"],
        key=told["key"],
        at=told["noted_at"],
        due=told["due"],
        note=told["note"],
    )
    size = f" ({size_of(item)})" if size_of(item) else ""
    said = [f"{issue.member} has {item.kind} {item}{size}.", *remarks(issue)]
    done(request, "\n".join(said))
    return _on(request)


@require_POST
@page(keeps_equipment, MENU)
def take_back(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """An item from whoever has it."""
    form = TakeBackForm(request.POST)
    if not form.is_valid():
        fresh = HandOutForm(viewer.this_season, initial={"key": uuid.uuid4()})
        context = {"out": fresh, "back": form, "latest": _latest()}
        return show(request, viewer, TAB, "equipment/desk.html", context)
    told = form.told()
    without = _parts(told["without"])
    issue = issuing.take_back(
        actor=viewer.signed_in,
        item=told["tag"],
        condition=told["condition"],
        key=told["key"],
        at=told["noted_at"],
        without=without,
        note=told["note"],
    )
    left = queries.issues_of(issue.member).count()
    still = f" They still have {left}." if left else " They have nothing left."
    done(request, f"{issue.item} is back from {issue.member}.{still}")
    return _on(request)


def _parts(text: str) -> list[int]:
    """Ids of the parts that tags name."""
    found = []
    for tag in tags_in(text):
        part = find(tag)
        if part is None:
            raise Refused(f"No item has the tag “{tag[:30]}”.")
        found.append(part.pk)
    return found


def _on(request: HttpRequest) -> HttpResponse:
    """To the page that asked, else to the desk again."""
    then = request.POST.get("next", "")
    return redirect(then if then and is_ours(request, then) else reverse(TAB))
