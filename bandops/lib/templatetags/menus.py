"""The menu in templates: made where a page shows it."""

from __future__ import annotations

from django import template
from django.template import Context

from bandops.lib.web.menu import Menu, menu_for

register = template.Library()


@register.simple_tag(takes_context=True)
def menu_of_page(context: Context) -> Menu:
    """What the viewer finds on this page, whose word its view may give as ``menu``; nothing for
    whoever does not belong to the band."""
    viewer = context.get("viewer")
    if viewer is None or not viewer.belongs:
        return Menu()
    word = context.get("menu") or getattr(context.get("request"), "menu", "")
    return menu_for(viewer, str(word))
