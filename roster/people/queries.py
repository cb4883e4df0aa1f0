"""Reused reads of members, instruments and parts."""

from __future__ import annotations

from django.db import models
from django.db.models import Prefetch, Q, QuerySet

from bandops.lib.names import plain
from bandops.lib.person_names import is_beside_a_name
from roster.people.enums import MemberStatus
from roster.people.models import Instrument, Member, Part, Person, Qualification, Season
from roster.people.ties import HOLDERS_OF, READ_WITH


def members(season: Season) -> QuerySet[Member]:
    """The season's members with what lists show: person, parts, and where they belong."""
    skills = Qualification.objects.select_related("part__instrument")
    found = Member.objects.filter(season=season).select_related("person")
    found = found.prefetch_related(Prefetch("qualifications", skills, to_attr="skills"))
    for reading in READ_WITH.joined:
        found = reading(found)
    return found


def going_on() -> list[Season]:
    """The season that the pages show, and those that have not ended by their own clocks."""
    return [it for it in Season.objects.all() if it.is_current or it.ends >= it.today()]


def present(season: Season) -> QuerySet[Member]:
    """The season's members without the entries that were merged into another, which stay for the
    lineups that were published with them."""
    return members(season).filter(person__merged_into__isnull=True)


def merged_members(season: Season) -> dict[int, int]:
    """Id of a member that was merged into another -> the other's."""
    merged = Member.objects.filter(season=season, person__merged_into__memberships__season=season)
    return dict(merged.values_list("pk", "person__merged_into__memberships"))


def active_members(season: Season) -> QuerySet[Member]:
    """Members who take part."""
    return members(season).filter(status=MemberStatus.ACTIVE)


def search_members(queryset: QuerySet[Member], text: str) -> QuerySet[Member]:
    """Members whose names, number, spot or part hold every word of the text, initials and suffixes
    beside a name left aside."""
    words = text.replace("\0", " ").split()
    for word in [word for word in words if not is_beside_a_name(word)] or words:
        clean = plain(word)
        found = Q(person__search__contains=clean) if clean else Q()
        found |= Q(qualifications__part__code__icontains=word)
        for holders in HOLDERS_OF.ask(queryset, word):
            found |= holders
        queryset = queryset.filter(found)
    return queryset.distinct()


def merged_people() -> QuerySet[Person]:
    """Entries that were merged into another, the latest first."""
    merged = Person.objects.filter(merged_into__isnull=False).select_related("merged_into")
    return merged.order_by("-pk")


def parts(season: Season) -> QuerySet[Part]:
    """Parts with their instruments."""
    return Part.objects.filter(season=season).select_related("instrument")


def instruments(season: Season) -> QuerySet[Instrument]:
    """Instruments with their parts."""
    return Instrument.objects.filter(season=season).prefetch_related("parts")


def used_parts(season: Season) -> set[int]:
    """Ids of the parts that something needs: they cannot be removed."""
    needing = [r for r in Part._meta.related_objects if r.on_delete is models.PROTECT]
    rows = [
        r.related_model._base_manager.filter(**{f"{r.field.name}__season": season}).values_list(
            r.field.name, flat=True
        )
        for r in needing
    ]
    return {pk for found in rows for pk in found}
