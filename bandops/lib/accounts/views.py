"""Signing in and out."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from bandops.lib import mail
from bandops.lib.accounts import entering, links, sessions, tries
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
        links.ask_for_link(link_form.cleaned_data["email"], tries.origin_of(request))
        sent = True
    if how == "password" and password_form.is_valid():
        user = _by_password(request, password_form)
        if user is not None:
            borrowed = password_form.cleaned_data["not_mine"]
            return _enter(request, user, "password", borrowed=borrowed)
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


def _by_password(request: HttpRequest, form: PasswordSignInForm) -> User | None:
    """Whose password it is; None with the reason on the form."""
    data, helps = form.cleaned_data, "Ask a director."
    if mail.leaves():
        helps = "You can always use an email link."
    try:
        user = entering.check_password(data["address"], data["password"], tries.origin_of(request))
    except entering.HeldUp as held:
        form.add_error(None, f"Too many tries: wait {_wait_words(held.seconds)}. {helps}")
        return None
    if user is None:
        form.add_error(None, f"That address and password do not match. {helps}")
    return user


def _wait_words(seconds: int) -> str:
    if seconds < 60:
        return "1 second" if seconds == 1 else f"{seconds} seconds"
    minutes = -(-seconds // 60)
    return "1 minute" if minutes == 1 else f"{minutes} minutes"


@never_cache
@page(rules.anyone)
def use_link(request: HttpRequest, viewer: Viewer, scope: str, token: str) -> HttpResponse:
    """Signs in on the button, not on the visit: mail scanners visit links too."""
    if request.method != "POST":
        response = render(request, "accounts/link.html")
    elif (user := links.user_of(token, scope)) is not None:
        response = _enter(request, user, scope, borrowed="not_mine" in request.POST)
        messages.success(request, f"You are signed in as {user}.")
    else:
        response = render(request, "accounts/link.html", {"failed": True}, status=410)
    # The address is the key: nothing that is opened from here learns more than the site's name,
    # which the form needs to show that it is ours.
    response["Referrer-Policy"] = "strict-origin"
    return response


@page(rules.anyone)
def sign_out(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Ends the session and empties what the browser kept of its pages. What waits for the network
    stays, locked: the pages' script removes the rest, and storage is not cleared here."""
    response = redirect("sign-in")
    if request.method == "POST":
        logout(request)
        response["Clear-Site-Data"] = '"cache"'
    return response


def _enter(request: HttpRequest, user: User, way: str, *, borrowed: bool) -> HttpResponse:
    entering.note_sign_in(user, tries.origin_of(request), way)
    login(request, user, backend=BACKEND)
    target = request.POST.get("next", "")
    response = redirect(target if target and is_ours(request, target) else "home")
    if borrowed:
        sessions.borrow(request.session)
    else:
        tries.remember_device(request, response, user)
    return response
