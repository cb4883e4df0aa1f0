"""A page that says what the API offers."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web import rules
from bandops.lib.web.pages import page


@page(rules.belongs, "season")
def api_docs(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Where the description of the API is, and an example."""
    return render(request, "api/docs.html")
