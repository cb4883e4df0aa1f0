"""One place that decides who gets a page."""

from __future__ import annotations

import logging
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseNotAllowed,
    HttpResponseRedirect,
    JsonResponse,
)
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django_htmx.http import HttpResponseClientRedirect

from bandops.lib.accounts.models import User
from bandops.lib.accounts.sessions import is_fresh, keeps_copies
from bandops.lib.accounts.viewer import Viewer, viewer
from bandops.lib.audit.clock import audit_now
from bandops.lib.audit.recording import noting_actions
from bandops.lib.errors import Refused
from bandops.lib.sent.guarding import Guarding, guarding
from bandops.lib.sent.once import SentTwice
from bandops.lib.web.messages import refuse, waiting
from bandops.lib.web.rules import Rule, anyone

log = logging.getLogger(__name__)
View = Callable[..., HttpResponse]
METHODS = ("GET", "HEAD", "POST")
ARRIVED = "arrived"
"""the cookie that tells a page that its download came: nothing else does"""
AT_ONCE, LATER = "1", "later"
NOT_ALLOWED = "Your account can't do this."
NOT_SAVED = "You were signed out, so what you sent was not saved."
SIGN_IN_AGAIN = "For this, sign in again: it has been more than half an hour. Nothing was saved."
AT_THE_SAME_TIME = "Somebody just saved the same thing: look at it, then try again."
SAVED_ONCE = "This came twice: it was saved the first time, and counts once."


def page(rule: Rule, menu: str = "", *, fresh: bool = False) -> Callable[[View], View]:
    """A view for those the rule lets in: ``view(request, viewer, …)``.

    Visitors are sent to sign in, others refused. A service's refusal that the view does not
    catch becomes a message on the page the request came from. The same form sent twice counts
    once, and one that says ``as_of`` when its page was read overwrites nothing younger unseen.
    ``fresh``: what gives rights is only done by who has signed in lately.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def wrapped(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if request.method not in METHODS:
                return HttpResponseNotAllowed(METHODS)
            who = viewer(request)
            queued = is_queued(request)
            if queued and not _is_theirs(request, who):
                return JsonResponse({"state": "sign in"}, status=401)
            if not rule(who) and who.user is None:
                return _sign_in_first(request)
            request.menu = menu  # type: ignore[attr-defined]
            request.read_at = _account(who, rule) and audit_now()  # type: ignore[attr-defined]
            guard = guarding(request, _account(who, rule), waits=queued)
            try:
                allow(rule(who))
                if fresh and request.method == "POST" and not is_fresh(request.session):
                    return _sign_in_again(request)
                guard.refuse_second()
                with _season_clock(who, rule), noting_actions(), guard.doing():
                    response = view(request, who, *args, **kwargs)
            except SentTwice as twice:
                return _sent_twice(request, twice)
            except Http404:
                if request.method == "POST" or not waiting(request):
                    raise
                return redirect("home")  # what was just taken back or removed had this page
            except (Refused, PermissionDenied) as error:
                return _refused(request, error)
            except IntegrityError as error:
                return _refused(request, _at_the_same_time(error))
            _keep_where(request, response, guard)
            return _finished(request, response)

        wrapped.rule = rule  # type: ignore[attr-defined]
        return wrapped

    return wrap


def _account(who: Viewer, rule: Rule) -> User | None:
    """Whose form it is; a page for anyone is not asked who looks."""
    return None if rule is anyone else who.user


def _at_the_same_time(error: IntegrityError) -> Refused:
    """The refusal of what somebody else has just saved; what breaks another rule is raised: a
    service forgot it."""
    if "unique" not in str(error).casefold():
        raise error
    log.warning("two at the same time", exc_info=error)
    return Refused(AT_THE_SAME_TIME)


def _sent_twice(request: HttpRequest, twice: SentTwice) -> HttpResponse:
    """To where the first answer led."""
    messages.success(request, SAVED_ONCE)
    if request.htmx:  # type: ignore[attr-defined]
        return _refuse_part(request)
    return HttpResponseRedirect(twice.where) if twice.where else back(request)


def _keep_where(request: HttpRequest, response: HttpResponse, guard: Guarding) -> None:
    """A part of a page stays where it is; a page that was sent and comes back is not done with."""
    if isinstance(response, HttpResponseRedirect):
        guard.answered(response.url, was_refused=getattr(request, "was_refused", False))
    else:
        guard.answered("" if request.htmx else None)  # type: ignore[attr-defined]


def _refused(request: HttpRequest, error: Refused | PermissionDenied) -> HttpResponse:
    """Why it was not done, where it was asked for."""
    if is_queued(request):
        return _refuse_queued(error)
    if isinstance(error, PermissionDenied):
        raise error
    refuse(request, error)
    return _refuse_part(request) if request.htmx else back(request)  # type: ignore[attr-defined]


def _finished(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The answer with what its page needs besides."""
    if is_queued(request):
        response = _answer_queue(request, response)
    if request.htmx and response.content:  # type: ignore[attr-defined]
        _say_in_part(request, response)
    if "attachment" in response.get("Content-Disposition", ""):
        response.set_cookie(
            ARRIVED, "1", max_age=60, samesite="Lax", secure=settings.SESSION_COOKIE_SECURE
        )
    if "X-Offline-Copy" in response and not keeps_copies(request):
        del response["X-Offline-Copy"]
    response.setdefault("Cache-Control", "private, no-store")
    return response


def _say_in_part(request: HttpRequest, response: HttpResponse) -> None:
    """A part of a page brings what there is to say, for the place where all pages say it."""
    if response.status_code != 200 or b"<body" in response.content or not waiting(request):
        return
    said = render_to_string("parts/messages.html", {}, request)
    response.write(f'<div id="messages">{said}</div>')


def _refuse_part(request: HttpRequest) -> HttpResponse:
    """Nothing of the page changes but what is said."""
    response = HttpResponse(headers={"HX-Reswap": "none", "Cache-Control": "private, no-store"})
    _say_in_part(request, response)
    return response


def _season_clock(who: Viewer, rule: Rule) -> AbstractContextManager[None]:
    """By the season's clock a page says what time it is and which day is today. A page for
    anyone is not asked who looks: it would be another one for each session."""
    if rule is anyone or who.season is None:
        return nullcontext()
    return timezone.override(who.season.time_zone)


def is_queued(request: HttpRequest) -> bool:
    """A form that may wait on a phone for the network, sent by the page's script: at once, or
    later."""
    return request.method == "POST" and request.headers.get("X-Queued") in (AT_ONCE, LATER)


def is_sent_later(request: HttpRequest) -> bool:
    """It waited on a phone; an answer to it may have been lost before."""
    return request.method == "POST" and request.headers.get("X-Queued") == LATER


def _is_theirs(request: HttpRequest, who: Viewer) -> bool:
    """Whoever is signed in is whoever left it waiting, not the next one to use the phone."""
    return who.user is not None and request.headers.get("X-Account", "") in ("", str(who.user.pk))


def _refuse_queued(error: Refused | PermissionDenied) -> HttpResponse:
    """Why it was not done, for the list of what waits."""
    if isinstance(error, PermissionDenied):
        return JsonResponse({"state": "refused", "text": NOT_ALLOWED}, status=403)
    text = " ".join((error.message, *error.details))
    return JsonResponse({"state": "refused", "text": text}, status=409)


def _answer_queue(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """What became of it, in the words that a page would have shown; of what is sent later no page
    shows them again. A form that has to be corrected comes back as its page, which names the
    fields."""
    if not isinstance(response, HttpResponseRedirect):
        told = {"text": "Something is missing.", "page": response.content.decode()}
        return JsonResponse({"state": "invalid", **told}, status=409)
    text = " ".join(waiting(request, keep=not is_sent_later(request)))
    return JsonResponse({"state": "done", "text": text, "next": response.url})


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    """To sign in, and from there to the page that was asked for.

    What was sent is not sent again: they come back to the page it was sent from, which is not
    always its own address, and are told. A page that asks for a part of itself leaves as a whole.
    """
    of_page = request.htmx  # type: ignore[attr-defined]
    sent = request.method == "POST"
    page = _sent_from(request) if sent or of_page else request.path
    if sent and NOT_SAVED not in waiting(request):
        messages.error(request, NOT_SAVED)
    where = f"{reverse('sign-in')}?{urlencode({'next': page})}"
    return HttpResponseClientRedirect(where) if of_page else redirect(where)


def _sign_in_again(request: HttpRequest) -> HttpResponse:
    """To make sure that it is they and not somebody at a device they left."""
    messages.error(request, SIGN_IN_AGAIN)
    where = f"{reverse('sign-in')}?{urlencode({'next': _sent_from(request)})}"
    of_page = request.htmx  # type: ignore[attr-defined]
    return HttpResponseClientRedirect(where) if of_page else redirect(where)


def _sent_from(request: HttpRequest) -> str:
    """The page that a request came from; the start page when it is not ours."""
    url: str = request.htmx.current_url or request.META.get("HTTP_REFERER", "")  # type: ignore[attr-defined]
    if not url or not is_ours(request, url):
        return reverse("home")
    return urlsplit(url)._replace(scheme="", netloc="").geturl()


def back(request: HttpRequest, otherwise: str = "home") -> HttpResponseRedirect:
    """To the ``next`` the form named, else where the request came from, when that is ours."""
    for url in (request.POST.get("next"), request.META.get("HTTP_REFERER")):
        if url and is_ours(request, url) and not _is_here(request, url):
            return HttpResponseRedirect(url)
    return redirect(otherwise)


def is_ours(request: HttpRequest, url: str) -> bool:
    """Whether a redirect there stays on this site."""
    return url_has_allowed_host_and_scheme(
        url, {request.get_host()}, require_https=request.is_secure()
    )


def _is_here(request: HttpRequest, url: str) -> bool:
    """A page that refuses to be read must not send back to itself."""
    return request.method != "POST" and urlsplit(url).path == request.path


def allow(condition: bool) -> None:
    """Refuse the page unless the condition holds."""
    if not condition:
        raise PermissionDenied
