"""One's own details and password."""

from __future__ import annotations

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from bandops.lib.accounts.forms import NewPasswordForm
from bandops.lib.accounts.sessions import is_fresh
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.forms.accounts import OwnDetailsForm
from roster.people.services import accounts as services
from roster.people.services.people import update_own_details
from roster.people.viewer import Viewer


@page(rules.signed_in)
def me(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Own details and password."""
    user, what = viewer.signed_in, request.POST.get("what")
    password_form = NewPasswordForm(user, request.POST if what == "password" else None)
    details_form = None
    if viewer.member is not None:
        details_form = OwnDetailsForm.of(viewer.member, request.POST if what == "details" else None)
    if what == "sign-out":
        services.sign_out_everywhere(actor=user, user=user)
        user.refresh_from_db()
        update_session_auth_hash(request, user)
        done(request, "You are signed out everywhere but here.", undo=False)
        return redirect("me")
    if what == "password" and not user.has_usable_password() and not is_fresh(request.session):
        raise Refused("To set a first password, sign in by a link again, then set it at once.")
    if what == "password" and password_form.is_valid():
        with recorded(user, "set password"):
            user.secret_changed_at = timezone.now()
            password_form.save()
        update_session_auth_hash(request, user)
        services.tell(user.email, "Your password was changed", "It was set on your account page.")
        done(request, "The password is set.")
        return redirect("me")
    if what == "details" and details_form is not None and details_form.is_valid():
        member, form = viewer.member, details_form
        assert member is not None

        def save() -> bool:
            update_own_details(actor=user, member=member, values=form.cleaned_data)
            return True

        if save_through(form, save):
            done(request, "Your details are saved.")
            return redirect("me")
    context = {
        "password_form": password_form,
        "details_form": details_form,
        "roles": sorted(viewer.roles),
    }
    return render(request, "accounts/me.html", context)
