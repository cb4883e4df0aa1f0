"""One search for everything the reader may see."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.finding.finders import entries_for, kinds
from bandops.lib.finding.finding import MOST_TYPED, Found, find, words_of
from bandops.lib.names import clean_name
from bandops.lib.web import rules
from bandops.lib.web.pages import page


@page(rules.belongs, "search")
@require_safe
def search(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Members, spots, ranks, events and more, spelled as well as one can."""
    text = clean_name(request.GET.get("q", "")[:MOST_TYPED])
    asked, may_find = bool(words_of(text)), rules.knows_names(viewer)
    found = find(text, entries_for(viewer), kinds()) if asked and may_find else Found()
    context = {"q": text, "asked": asked, "may_find": may_find, "found": found}
    return render(request, "finding/search.html", context | {"most": MOST_TYPED})
