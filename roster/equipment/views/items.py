"""Items: the overview, the list, one of them, adding, finding by tag, moving."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import is_ours, page
from roster.equipment import queries
from roster.equipment.enums import AT_HAND
from roster.equipment.filters import ItemFilters
from roster.equipment.forms.fields import find, tag_of
from roster.equipment.forms.items import ItemForm, MoveForm, NewItemForm, SeveralForm
from roster.equipment.forms.work import TicketForm, default_due
from roster.equipment.models import Item, Kind
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import keeping, moves, work
from roster.equipment.views.frame import MENU, kind_of, show
from roster.equipment.wording import late_words, size_of
from roster.people.viewer import Viewer

TAB = "equipment-items"


def item_of(pk: int) -> Item:
    """An item with its sizes; 404 for none."""
    return get_object_or_404(queries.items(), pk=pk)


@page(keeps_equipment, MENU)
def overview(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What there is and what is to be done."""
    season = viewer.this_season
    today = season.today()
    inspection = queries.next_inspection(season, today)
    # What went out together stands there as one line.
    tickets = list(queries.open_tickets().filter(run=None))
    counts = queries.counts()
    context = {
        "counts": counts,
        "missing": sum(c.missing for c in counts),
        "runs": [r for r in queries.runs() if r.away],  # type: ignore[attr-defined]
        "inspection": inspection,
        "late": [t for t in tickets if late_words(t, today, inspection)],
        "tickets": len(tickets),
        "line": queries.waiting_in_line(season).count(),
        "lent": [i for i in queries.open_issues() if i.due is not None and i.due < today],
    }
    return show(request, viewer, "equipment", "equipment/overview.html", context)


@page(keeps_equipment, MENU)
def items(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All items, narrowed."""
    filters = ItemFilters.of(request, queries.items())
    found = page_of(request, filters.rows)
    rows = [(item, size_of(item), next(iter(item.out), None)) for item in found]
    context = {"filters": filters, "page": found, "rows": rows, "kinds": Kind.objects.exists()}
    return show(request, viewer, TAB, "equipment/items.html", context)


@page(keeps_equipment, MENU)
def item(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One item: where it is, its sizes, its parts, its history, and what can be done with it."""
    it = item_of(pk)
    issue = queries.with_whom(it)
    due = work.due_by_default(viewer.this_season, viewer.this_season.today())
    context = {
        "item": it,
        "size": size_of(it),
        "issue": issue,
        "linked": it.linked.all(),
        "ticket": queries.open_tickets().filter(item=it).first(),
        "moves": it.moves.select_related("by", "member__person")[:60],
        "work": TicketForm(initial=default_due(due)),
        "at_hand": it.state in AT_HAND,
    }
    return show(request, viewer, TAB, "equipment/item.html", context)


@page(keeps_equipment, MENU)
def find_item(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The item of a tag that was typed or scanned."""
    text = request.GET.get("tag", "")
    return _found(text)


@page(keeps_equipment, MENU)
def scanned(request: HttpRequest, viewer: Viewer, tag: str) -> HttpResponse:
    """The address that a label's code leads to."""
    return _found(tag)


def _found(text: str) -> HttpResponse:
    found = find(text)
    if found is None:
        raise Refused(f"No item has the tag “{tag_of(text)[:30]}”.")
    return redirect("equipment-item", pk=found.pk)


@page(keeps_equipment, MENU)
def new_item(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """First the kind, then the item."""
    form = NewItemForm(request.GET or None)
    if request.GET and form.is_valid():
        kind = form.cleaned_data["kind"]
        if request.GET.get("several"):
            return redirect("equipment-items-add", pk=kind.pk)
        return redirect("equipment-item-add", pk=kind.pk)
    return show(request, viewer, TAB, "equipment/new_item.html", {"form": NewItemForm()})


@page(keeps_equipment, MENU)
def add_item(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A new item of a kind."""
    return _edited(request, viewer, Item(kind=kind_of(pk)))


@page(keeps_equipment, MENU)
def edit_item(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What is recorded of an item."""
    return _edited(request, viewer, item_of(pk))


def _edited(request: HttpRequest, viewer: Viewer, it: Item) -> HttpResponse:
    form = ItemForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: keeping.save_item(
                actor=viewer.signed_in, item=form.filled(), sizes=form.cleaned_data["sizes"]
            ),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("equipment-item", pk=saved.pk)
    title = f"Change {it.tag}" if it.pk else f"New: {it.kind}"
    back = reverse("equipment-item", args=[it.pk]) if it.pk else reverse(TAB)
    return render(request, "form_page.html", {"form": form, "title": title, "back": back})


@page(keeps_equipment, MENU)
def add_several(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Several new items of one size."""
    kind = kind_of(pk)
    form = SeveralForm(kind, request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = save_through(
            form, lambda: keeping.add_items(actor=viewer.signed_in, items=form.items())
        )
        if added is not None:
            done(request, f"{added} items are added.")
            return redirect(f"{reverse(TAB)}?kind={kind.pk}")
    context = {"form": form, "title": f"Several new: {kind}", "back": reverse(TAB)}
    return render(request, "form_page.html", context)


@require_POST
@page(keeps_equipment, MENU)
def move_item(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Missing, found, or retired."""
    it, form = item_of(pk), MoveForm(request.POST)
    if not form.is_valid():
        raise Refused("Choose what became of it.")
    do = {"missing": moves.set_missing, "found": moves.found_again, "retire": moves.retire}
    moved = do[form.cleaned_data["what"]](
        actor=viewer.signed_in, item=it, note=form.cleaned_data["note"]
    )
    done(request, f"{moved} is {moved.get_state_display()} now.")
    return redirect("equipment-item", pk=pk)


@require_POST
@page(keeps_equipment, MENU)
def open_ticket(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """It goes to be altered, repaired or cleaned."""
    it, form = item_of(pk), TicketForm(request.POST)
    if not form.is_valid():
        raise Refused("Choose what is to be done, and a day.")
    told = form.cleaned_data
    ticket = work.open_ticket(
        actor=viewer.signed_in, item=it, work=told["work"], what=told["what"], due=told["due"]
    )
    done(request, f"{ticket} is noted.")
    then = request.POST.get("next", "")
    return redirect(then) if then and is_ours(request, then) else redirect("equipment-item", pk=pk)
