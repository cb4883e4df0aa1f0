"""One account, in the director's hands."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from bandops.lib.web.forms import is_done
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.forms.accounts import AddressForm
from roster.people.models import Person, RoleGrant
from roster.people.rules import gives_rights
from roster.people.services import accounts as services
from roster.people.viewer import Viewer

MENU = "roles"


@page(gives_rights, MENU, fresh=True)
def account(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change its address, sign it out, close it or open it again."""
    user = get_object_or_404(User, pk=pk)
    what = request.POST.get("what")
    form = AddressForm(request.POST if what == "address" else None, initial={"email": user.email})
    if what == "address" and form.is_valid():
        email = form.cleaned_data["email"]
        changed = is_done(
            form,
            lambda: services.change_address(actor=viewer.signed_in, user=user, email=email),
        )
        if changed:
            done(request, f"{user} signs in as {email}. Invite them again.", undo=False)
            return redirect("account", pk=pk)
    elif request.method == "POST" and what != "address":
        done(request, _act(viewer, user, what), undo=False)
        return redirect("account", pk=pk)
    context = {
        "account": user,
        "form": form,
        "person": Person.objects.filter(user=user).first(),
        "grants": RoleGrant.objects.filter(user=user, season=viewer.this_season),
    }
    return render(request, "people/account.html", context)


def _act(viewer: Viewer, user: User, what: str | None) -> str:
    """Do what a button says; what was done, in words."""
    actor = viewer.signed_in
    if what == "sign-out":
        services.sign_out_everywhere(actor=actor, user=user)
        return f"{user} is signed out on all devices, and the calendar address is off."
    if what == "close":
        services.close_account(actor=actor, user=user)
        return f"The account of {user} is closed."
    if what == "open":
        services.open_account(actor=actor, user=user)
        return f"The account of {user} is open again."
    raise Refused("That could not be read: open the page again.")
