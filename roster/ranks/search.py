"""Members, ranks and spots in the search: staff everything, others what their pages show."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.finding.finders import finds
from bandops.lib.finding.finding import Entry
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member, Season
from roster.people.viewer import Viewer
from roster.ranks import queries
from roster.ranks.models import Holding, Spot


@finds(Members=1, Ranks=2, Spots=7)
def members_ranks_and_spots(viewer: Viewer) -> Iterator[Entry]:
    """For staff all; for members themselves, for leaders their ranks, for equipment managers
    names."""
    if viewer.is_staff:
        yield from _for_staff(viewer.this_season)
        return
    if viewer.member is not None:
        yield from _own(viewer.member)
    if viewer.is_rank_leader:
        yield from _of_ranks(viewer)
    if viewer.is_equipment_manager:
        for member in people_queries.active_members(viewer.this_season):
            yield Entry("Members", member.name, member.pk, "", _place(member), "sizes")


def _for_staff(season: Season) -> Iterator[Entry]:
    spots = list(queries.spots_with_holders(season))
    for member in people_queries.present(season):
        person = member.person
        note = _place(member)
        if member.status != MemberStatus.ACTIVE:
            note = member.get_status_display()
        words = f"{person.legal_name} {person.student_number}"
        yield Entry("Members", member.name, member.pk, words, note, "member", member.pk)
    for rank in queries.ranks(season):
        note = f"led by {rank.leader}" if rank.leader else ""
        yield Entry("Ranks", str(rank), rank.pk, "", note, "rank", rank.pk)
    for spot in spots:
        yield _spot(spot, _holder(spot), "spot", spot.pk)


def _own(me: Member) -> Iterator[Entry]:
    yield Entry("Members", me.name, me.pk, "", "you", "card")
    open_holdings = Holding.objects.filter(member=me, ends__isnull=True)
    for holding in open_holdings.select_related("spot__rank", "spot__part__instrument"):
        yield _spot(holding.spot, me, "card", None)


def _of_ranks(viewer: Viewer) -> Iterator[Entry]:
    """A leader's own ranks, as they stand today."""
    ids = [rank.pk for rank in viewer.ranks_led]
    for member in queries.members_of_ranks(viewer.this_season, ids):
        yield Entry("Members", member.name, member.pk, "", _place(member), "my-rank")
    for rank in viewer.ranks_led:
        yield Entry("Ranks", str(rank), rank.pk, "", "yours", "my-rank")
    for spot in queries.spots_with_holders(viewer.this_season).filter(rank__in=ids):
        yield _spot(spot, _holder(spot), "my-rank", None)


def _spot(spot: Spot, holder: Member | None, page: str, page_of: int | None) -> Entry:
    words = f"{holder or ''} {spot.part} {spot.part.instrument}"
    note = f"{spot.part}, {holder or 'nobody holds it'}"
    return Entry("Spots", spot.label, spot.pk, words, note, page, page_of, code=True)


def _holder(spot: Spot) -> Member | None:
    open_holdings: list[Holding] = spot.open_holdings  # type: ignore[attr-defined]
    return open_holdings[0].member if open_holdings else None


def _place(member: Member) -> str:
    open_holdings: list[Holding] = member.open_holdings  # type: ignore[attr-defined]
    return open_holdings[0].spot.label if open_holdings else ""
