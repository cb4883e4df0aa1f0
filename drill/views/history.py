"""What staff did lately, and taking one action back."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable

from django.core.paginator import Paginator
from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit import undo
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.reading import PRIVATE, Action, actions
from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.web.messages import done
from drill.enums import LineupState
from drill.models import Event, Lineup
from drill.rules import may_edit_lineup
from roster import rules
from roster.models import RoleGrant
from roster.viewer import Viewer
from roster.views.access import page

MENU = "week"
DAYS = 14
KEPT = frozenset(
    (
        "drill_notice",
        "drill_daychange",
        "drill_clash",
        "drill_attendance",
        "drill_contestmark",
        "drill_calendarfeed",
        "lib_user",
        "lib_importbatch",
        "lib_takenback",
        "roster_rolegrant",
    )
)
"""Tables whose rows are said, sent or somebody else's: an action that wrote them is not taken
back here (a publication by publishing again, a change of the day on the desk, an import on its
own page)."""
DIRECTORS = frozenset(("roster_season",))
OF_EVENTS = ("drill_lineup", "drill_pin", "drill_bar", "drill_openseat")
"""tables of an event's lineup: after the cut-off they are the director's"""


@page(rules.staff, MENU)
def history(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The staff's actions of the last two weeks, latest first."""
    batches = Paginator(_batches(viewer), 30).get_page(request.GET.get("page"))
    found = actions(batches)
    if any(name in PRIVATE for a in found for line in a.lines for name, _, _ in line.changes):
        record_view(viewer.signed_in, AuditEntry._meta.db_table, "list", "private changes")
    published = _published(batches)
    locked = _locked(viewer, batches)
    may = [a.batch not in published | locked and may_take_back(viewer, a) for a in found]
    context = {"page": batches, "actions": list(zip(found, may, strict=True))}
    return render(request, "drill/history/history.html", context)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One action back, or why not."""
    batch = request.POST.get("batch", "")
    found = actions(_batches(viewer).filter(batch=batch))
    if not found or _published([batch]) or not may_take_back(viewer, found[0]):
        raise Refused("This action cannot be taken back here.")
    if _locked(viewer, [batch]):
        raise Refused("The cut-off has passed: only the director changes this lineup now.")
    name = undo.take_back(actor=viewer.signed_in, batch=batch)
    done(request, f"Taken back: {name}.")
    return redirect("history")


def may_take_back(viewer: Viewer, action: Action) -> bool:
    """True for what staff entered or arranged, as long as nothing of it was sent; what only the
    director writes, only the director takes back."""
    kept = KEPT if viewer.is_director else KEPT | DIRECTORS
    return action.taken_back is None and not action.tables & kept


def _locked(viewer: Viewer, batches: Iterable[str]) -> set[str]:
    """The batches that changed a lineup which the viewer may not change any more."""
    if viewer.is_director:
        return set()
    found: dict[int, set[str]] = defaultdict(set)
    entries = AuditEntry.objects.filter(batch__in=list(batches), table__in=OF_EVENTS)
    for batch, before, after in entries.values_list("batch", "before", "after"):
        found[int((after or before or {}).get("event_id") or 0)].add(batch)
    events = Event.objects.filter(pk__in=found)
    return set().union(*(found[e.pk] for e in events if not may_edit_lineup(viewer, e)))


def _published(batches: Iterable[str]) -> set[str]:
    """The batches in which a lineup was published."""
    entries = AuditEntry.objects.filter(batch__in=list(batches), table=Lineup._meta.db_table)
    return set(entries.filter(after__state=LineupState.PUBLISHED).values_list("batch", flat=True))


def _batches(viewer: Viewer):  # type: ignore[no-untyped-def]
    """The batches that the season's staff wrote lately, latest first."""
    staff = RoleGrant.objects.filter(season=viewer.season, role__in=("director", "staff"))
    since = timezone.now() - datetime.timedelta(days=DAYS)
    rows = AuditEntry.objects.filter(
        at__gte=since, actor_id__in=list(staff.values_list("user_id", flat=True))
    )
    rows = rows.exclude(batch="").exclude(op=AuditEntry.Op.VIEW).exclude(table="lib_user")
    latest = rows.order_by().values("batch").annotate(latest=Max("id"))
    return latest.order_by("-latest").values_list("batch", flat=True)
