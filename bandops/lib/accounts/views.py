"""Signing in and out, and one's own account."""

from __future__ import annotations

from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from bandops.lib import mail
from bandops.lib.accounts import links
from bandops.lib.accounts.forms import LinkForm, PasswordSignInForm
from bandops.lib.accounts.models import User
from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web import rules
from bandops.lib.web.messages import waiting
from bandops.lib.web.pages import is_ours, page

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
        helps = "You can always use an email link." if mail.leaves() else "Ask a director."
        password_form.add_error(None, f"That address and password do not match. {helps}")
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
    """Ends the session and empties what the browser kept of its pages. What waits for the network
    stays, locked: the pages' script removes the rest, and storage is not cleared here."""
    response = redirect("sign-in")
    if request.method == "POST":
        logout(request)
        response["Clear-Site-Data"] = '"cache"'
    return response


def _enter(request: HttpRequest, user: User) -> HttpResponse:
    links.note_sign_in(user)
    login(request, user, backend=BACKEND)
    target = request.POST.get("next", "")
    if target and is_ours(request, target):
        return redirect(target)
    return redirect("home")
