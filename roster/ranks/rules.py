"""What leaders of a rank may see of its members."""

from __future__ import annotations

from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks.models import AlternatePlace


def leads_member(viewer: Viewer, member: Member) -> bool:
    """A leader or assistant leader of the rank where the member holds a spot or is an alternate."""
    ids = {rank.pk for rank in viewer.ranks_led}
    if not ids:
        return False
    here = member.holdings.filter(ends__isnull=True, spot__rank__in=ids).exists()
    return here or AlternatePlace.objects.filter(member=member, rank__in=ids).exists()


def may_see_slip(viewer: Viewer, member: Member) -> bool:
    """Staff, the member, and the leader of their rank."""
    return viewer.is_staff or viewer.member == member or leads_member(viewer, member)
