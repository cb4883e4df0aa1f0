"""Whether a season's names can be printed on this machine."""

from __future__ import annotations

from bandops.lib.pdf.letters import Lacking, lacking
from roster.people.models import Person, Season


def lacking_letters(season: Season) -> Lacking | None:
    """The members whose names no font can print, with what to install; None where all can be
    (one query)."""
    people = Person.objects.filter(memberships__season=season, merged_into__isnull=True)
    names = people.order_by("sort_key", "pk").values_list("used_name", "legal_name")
    return lacking(used or legal for used, legal in names)
