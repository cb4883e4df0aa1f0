"""Who may challenge whom."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.challenges.forms import RuleForm
from drill.challenges.services import reach
from roster.people.viewer import Viewer


@page(rules.staff, "challenges")
def edit_rule(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's rule."""
    form = RuleForm(request.POST or None, instance=reach.rule_of(viewer.this_season))
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: reach.save_rule(actor=viewer.signed_in, rule=form.instance)
        )
        if saved is not None:
            done(request, f"Saved. {saved.words}")
            return redirect("challenges")
    context = {
        "form": form,
        "title": "Who may challenge whom",
        "lead": "Challenges already asked for stay as they are.",
        "back": reverse("challenges"),
    }
    return render(request, "form_page.html", context)
