"""What is out, what is owed, one member's things, and prints of them."""

from __future__ import annotations

from itertools import groupby

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.outbox.progress import file_response
from bandops.lib.pdf.render import Made
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from roster.equipment import pdf, queries
from roster.equipment.enums import ChargeState
from roster.equipment.filters import ItemFilters
from roster.equipment.forms.people import ChargeForm, WaiveForm
from roster.equipment.models import Charge, Issue
from roster.equipment.rules import keeps_equipment, sees_charges
from roster.equipment.services import charges as services
from roster.equipment.views.frame import MENU, member_of, show
from roster.equipment.wording import dollars, size_of
from roster.people.models import Member
from roster.people.viewer import Viewer

OUT, CHARGES = "equipment-out", "equipment-charges"
MOST_LABELS = 600


def by_member() -> list[tuple[Member, list[Issue]]]:
    """Who has what, by name."""
    rows = queries.outstanding()
    return [
        (issues[0].member, issues) for _, of in groupby(rows, key=_whose) if (issues := list(of))
    ]


def _whose(issue: Issue) -> tuple[str, int]:
    return issue.member.person.sort_key, issue.member.person_id


@page(keeps_equipment, MENU)
def outstanding(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All that is out, by member."""
    everybody = by_member()
    found = page_of(request, everybody)
    context = {"page": found, "count": sum(len(of) for _, of in everybody)}
    return show(request, viewer, OUT, "equipment/outstanding.html", context)


@page(sees_charges, MENU)
def charges(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What members owe, and what they did."""
    rows = queries.charges(viewer.this_season)
    owed = sum(c.cents for c in rows if c.state == ChargeState.OWED)
    found = page_of(request, rows)
    context = {"page": found, "rows": [(c, dollars(c.cents)) for c in found], "owed": dollars(owed)}
    return show(request, viewer, CHARGES, "equipment/charges.html", context)


@page(sees_charges, MENU)
def new_charge(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A member owes something."""
    form = ChargeForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form, lambda: services.make_charge(actor=viewer.signed_in, charge=form.instance)
        )
        if made is not None:
            done(request, f"{made.member} owes {dollars(made.cents)}.{_never_theirs(made)}")
            return redirect(CHARGES)
    context = {
        "form": form,
        "title": "New charge",
        "lead": "The member, the equipment manager and the director see it, and nobody else.",
        "back": reverse(CHARGES),
    }
    return render(request, "form_page.html", context)


def _never_theirs(charge: Charge) -> str:
    """A word of an item that the member never had: another of that name may be meant."""
    if charge.item is None or charge.item.issues.filter(member__person=charge.member.person_id):
        return ""
    return f" But {charge.item} was never theirs: is it the right member?"


@require_POST
@page(sees_charges, MENU)
def settle(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Paid, or waived for a reason."""
    charge = get_object_or_404(queries.charges(viewer.this_season), pk=pk)
    if request.POST.get("what") == "paid":
        services.pay(actor=viewer.signed_in, charge=charge)
        done(request, f"{charge.member} has paid {dollars(charge.cents)}.")
    else:
        form = WaiveForm(request.POST)
        if not form.is_valid():
            raise Refused("Say why it is waived.")
        services.waive(actor=viewer.signed_in, charge=charge, reason=form.cleaned_data["why"])
        done(request, f"{dollars(charge.cents)} are waived for {charge.member}.")
    return redirect(CHARGES)


@page(rules.member, "my-equipment")
def mine(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One's own things, measurements and charges."""
    member = viewer.member
    assert member is not None
    owed = Charge.objects.filter(member__person=member.person_id).select_related("item")
    context = {
        "issues": [(i, size_of(i.item)) for i in queries.issues_of(member)],
        "measurements": member.person.measurements.all()[:40],
        "charges": [(c, dollars(c.cents)) for c in owed],
    }
    return keep_copy(viewer, render(request, "equipment/mine.html", context))


@page(keeps_equipment, MENU)
def issue_form(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member's things on paper, to sign."""
    return _file(pdf.render_issue_form(viewer.this_season, [member_of(viewer, pk)]))


@page(keeps_equipment, MENU)
def issue_forms(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The same for everybody who has something."""
    members = [member for member, _ in by_member()]
    if not members:
        raise Refused("Nobody has anything yet.")
    return _file(pdf.render_issue_form(viewer.this_season, members))


@page(keeps_equipment, MENU)
def labels(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Labels with codes of the items that the list shows."""
    rows = ItemFilters.of(request, queries.items()).rows[:MOST_LABELS]
    items = list(rows)
    if not items:
        raise Refused("No item fits, so there is nothing to print.")
    address = f"{settings.SITE_URL}{reverse('equipment-scanned', args=['-'])}".removesuffix("-/")
    return _file(pdf.render_labels(viewer.this_season, items, address))


@page(keeps_equipment, MENU)
def outstanding_print(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The list of what is out."""
    return _file(pdf.render_outstanding(viewer.this_season, by_member()))


def _file(made: Made) -> HttpResponse:
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")
