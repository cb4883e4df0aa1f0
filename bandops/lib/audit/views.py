"""What staff did lately, and taking one action back."""

from __future__ import annotations

import datetime
from dataclasses import replace

from django.core.paginator import Paginator
from django.db.models import Max, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit import undo
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.reading import Action, actions, columns_marked
from bandops.lib.audit.recording import record_view
from bandops.lib.audit.takable import kept, locked, may_take_back
from bandops.lib.audit.ties import REMARKS, STAFF_OF
from bandops.lib.errors import Refused
from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page

MENU = "week"
DAYS = 14


@page(rules.staff, MENU)
def history(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The staff's actions of the last two weeks, latest first."""
    batches = Paginator(_batches(viewer), 30).get_page(request.GET.get("page"))
    found = actions(batches)
    private = columns_marked("audit_private")
    if any(name in private for a in found for line in a.lines for name, _, _ in line.changes):
        record_view(viewer.signed_in, AuditEntry._meta.db_table, "list", "private changes")
    stays = kept(batches) | locked(viewer, batches)
    may = [a.batch not in stays and _is_open(viewer, a) for a in found]
    remarks = merged(REMARKS.ask(list(batches)))
    said = [replace(a, remark=remarks.get(a.batch, "")) for a in found]
    context = {"page": batches, "actions": list(zip(said, may, strict=True))}
    return render(request, "audit/history.html", context)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One action back, or why not."""
    batch = request.POST.get("batch", "")
    found = actions(_batches(viewer).filter(batch=batch))
    if not found or kept([batch]) or not _is_open(viewer, found[0]):
        raise Refused("This action cannot be taken back here.")
    if locked(viewer, [batch]):
        raise Refused("The cut-off has passed: only the director changes this lineup now.")
    name = undo.take_back(actor=viewer.signed_in, batch=batch)
    done(request, f"Taken back: {name}.")
    return back(request, "history")


def _is_open(viewer: Viewer, action: Action) -> bool:
    return may_take_back(viewer, action.tables, action.taken_back)


def _batches(viewer: Viewer) -> QuerySet[AuditEntry, str]:
    """The batches that the season's staff wrote lately, latest first."""
    staff = [pk for ids in STAFF_OF.ask(viewer) for pk in ids]
    since = timezone.now() - datetime.timedelta(days=DAYS)
    rows = AuditEntry.objects.filter(at__gte=since, actor_id__in=staff)
    rows = rows.exclude(batch="").exclude(op=AuditEntry.Op.VIEW).exclude(table="lib_user")
    latest = rows.order_by().values("batch").annotate(latest=Max("id"))
    return latest.order_by("-latest").values_list("batch", flat=True)
