"""Signing in and out, and one's own account."""

from __future__ import annotations

from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from bandops.lib.accounts import links
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done, waiting
from roster import rules
from roster.forms.accounts import LinkForm, NewPasswordForm, OwnDetailsForm, PasswordSignInForm
from roster.services.people import update_own_details
from roster.viewer import Viewer
from roster.views.access import is_ours, page

BACKEND = "django.contrib.auth.backends.ModelBackend"


@never_cache
@page(rules.anyone)
def sign_in(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """By a link in the mail, or by password."""
    how = request.POST.get("how")
    link_form = LinkForm(request.POST if how == "link" else None)
    password_form = PasswordSignInForm(request.POST if how == "password" else None)
    sent = False
    if how == "link" and link_form.is_valid():
        links.send_sign_in_link(link_form.cleaned_data["email"])
        sent = True
    if how == "password" and password_form.is_valid():
        data = password_form.cleaned_data
        user = links.check_password(data["address"], data["password"])
        if user is not None:
            return _enter(request, user)
        password_form.add_error(
            None, "This address and password do not fit. A link by mail always works."
        )
    context = {
        "link_form": link_form,
        "password_form": password_form,
        "sent": sent,
        "minutes": links.link_minutes(),
        "next": request.POST.get("next") or request.GET.get("next", ""),
    }
    response = render(request, "accounts/sign_in.html", context)
    waiting(request)  # what is said here is said again on the page they come back to
    return response


@never_cache
@page(rules.anyone)
def use_link(request: HttpRequest, viewer: Viewer, scope: str, token: str) -> HttpResponse:
    """Signs in on the button, not on the visit: mail scanners visit links too."""
    if request.method == "POST":
        user = links.user_of(token, scope)
        if user is not None:
            return _enter(request, user)
        return render(request, "accounts/link.html", {"failed": True}, status=410)
    return render(request, "accounts/link.html")


@page(rules.anyone)
def sign_out(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Ends the session and empties what the browser kept of it."""
    if request.method == "POST":
        logout(request)
    response = redirect("sign-in")
    response["Clear-Site-Data"] = '"cache", "storage"'
    return response


@page(rules.signed_in)
def me(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Own details and password."""
    user, what = viewer.signed_in, request.POST.get("what")
    password_form = NewPasswordForm(user, request.POST if what == "password" else None)
    details_form = None
    if viewer.member is not None:
        details_form = OwnDetailsForm.of(viewer.member, request.POST if what == "details" else None)
    if what == "password" and password_form.is_valid():
        with recorded(user, "set password"):
            user.secret_changed_at = timezone.now()
            password_form.save()
        update_session_auth_hash(request, user)
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


def _enter(request: HttpRequest, user: User) -> HttpResponse:
    links.note_sign_in(user)
    login(request, user, backend=BACKEND)
    target = request.POST.get("next", "")
    if target and is_ours(request, target):
        return redirect(target)
    return redirect("home")
