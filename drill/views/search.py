"""One search for everything the reader may see."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from bandops.lib.finding import MOST_TYPED, Found, find, words_of
from bandops.lib.names import clean_name
from drill.rules import reads_lineups
from drill.services.search import KINDS, entries_for
from roster import rules
from roster.viewer import Viewer
from roster.views.access import page


@page(rules.belongs, "search")
@require_safe
def search(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Members, spots, ranks, events and more, spelled as well as one can."""
    text = clean_name(request.GET.get("q", "")[:MOST_TYPED])
    asked, may_find = bool(words_of(text)), reads_lineups(viewer)
    found = find(text, entries_for(viewer), KINDS) if asked and may_find else Found()
    context = {"q": text, "asked": asked, "may_find": may_find, "found": found}
    return render(request, "drill/search/search.html", context | {"most": MOST_TYPED})
