"""The pages of the API: what it offers, and one's own tokens."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.api.forms import TokenForm
from bandops.lib.api.models import ApiToken
from bandops.lib.api.tokens import SCOPES, make_token, revoke_token
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page


@page(rules.belongs, "season")
def api_docs(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Where the description of the API is, and an example."""
    return render(request, "api/docs.html", {"scopes": SCOPES})


@page(rules.takes_back, "season", fresh=True)
def tokens(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Own tokens, and a new one, whose text is shown this once."""
    form = TokenForm(request.POST or None, initial={"days": 90})
    text, made = "", None
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made, text = make_token(
            actor=viewer.signed_in, name=data["name"], scopes=data["scopes"], days=data["days"]
        )
        form = TokenForm(initial={"days": 90})
    rows = ApiToken.objects.filter(user=viewer.signed_in, revoked_at=None)
    context = {"form": form, "tokens": rows, "text": text, "made": made, "scopes": SCOPES}
    return render(request, "api/tokens.html", context)


@require_POST
@page(rules.takes_back, "season")
def revoke(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """It opens nothing any more."""
    token = get_object_or_404(ApiToken, pk=pk, user=viewer.signed_in)
    revoke_token(actor=viewer.signed_in, token=token)
    done(request, f"“{token}” is revoked.", undo=False)
    return redirect("api-tokens")
