"""The facts of a lineup problem, one function each, from the rows."""

from __future__ import annotations

from bandops.lib.keys import key
from drill.lineup import queries
from drill.lineup.core import problem as core
from drill.lineup.models import Block, OpenSeat, Pin
from drill.lineup.services.rows import Rows
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.ranks import queries as rank_queries

EXPERIENCED_YEARS = 2


def problem(rows: Rows) -> core.LineupProblem:
    """The facts of the rows, put together."""
    pinned, blocked, opened = queries.orders(rows.event)
    return core.LineupProblem(
        members=members(rows),
        spots=spots(rows),
        segments=segments(rows),
        parts=parts(rows),
        ranks=ranks(rows),
        reference=reference(rows),
        pins=pins(rows, pinned),
        blocks=blocks(blocked),
        left_open=left_open(rows, opened),
        backups=backups(rows),
        relearning=rows.lessons,
        stock=stock(rows),
        wears=wears(rows),
        spares=spares(rows),
        travel_limit=rows.event.travel_limit,
        settings=settings(rows),
    )


def members(rows: Rows) -> tuple[core.Member, ...]:
    """Everybody who takes part, and where they are away."""
    rank_of = {spot.pk: key(spot.rank_id) for spot in rows.spots}
    return tuple(_member(rows, member, rank_of) for member in rows.members)


def away(rows: Rows, member: Member) -> frozenset[str]:
    """The marching segments that a member of the event misses."""
    return frozenset(rows.seats_of) if member.pk in rows.at_home else rows.absent[member.pk]


def _member(rows: Rows, member: Member, rank_of: dict[int, str]) -> core.Member:
    place = getattr(member, "alternate_place", None)
    spot_id = rows.holders.get(member.pk)
    return core.Member(
        key=key(member.pk),
        skills=tuple(core.Skill(key(q.part_id), q.own_instrument) for q in member.skills),  # type: ignore[attr-defined]
        holds=key(spot_id) if spot_id else None,
        rank=rank_of[spot_id] if spot_id else key(place.rank_id) if place else None,
        standing=place.standing if place and not spot_id else None,
        standing_part=key(place.part_id) if place and not spot_id else None,
        experienced=member.years_marched >= EXPERIENCED_YEARS,
        away=away(rows, member),
        must_travel=member.pk in rows.must_travel,
        marched_percent=rows.shares.get(member.pk, 0),
        lacks=lacks(rows, member),
    )


def lacks(rows: Rows, member: Member) -> tuple[core.Lack, ...]:
    """What the member has no piece of, and the sizes of spare ones that fit as they are."""
    lacking = rows.dress.lacks.get(member.pk, ())
    return tuple(core.Lack(key(kind), fits) for kind, fits in lacking)


def spots(rows: Rows) -> tuple[core.Spot, ...]:
    """Every spot with what it needs."""
    return tuple(
        core.Spot(key(s.pk), key(s.rank_id), key(s.part_id), s.weight, s.needs_experience)
        for s in rows.spots
    )


def segments(rows: Rows) -> tuple[core.Segment, ...]:
    """The segments that are marched."""
    return tuple(core.Segment(segment, seats) for segment, seats in rows.seats_of.items())


def parts(rows: Rows) -> tuple[core.Part, ...]:
    """Every part and its instrument."""
    return tuple(core.Part(key(p.pk), key(p.instrument_id)) for p in rows.parts)


def ranks(rows: Rows) -> tuple[core.Rank, ...]:
    """Every rank and who leads it."""
    return tuple(
        core.Rank(key(r.pk), tuple(key(i) for i in (r.leader_id, r.assistant_leader_id) if i))
        for r in rank_queries.ranks(rows.season)
    )


def reference(rows: Rows) -> tuple[tuple[core.Seat, str], ...]:
    """The last published revision of this event, else the holders."""
    last = queries.published(rows.event)
    if last is None:
        return tuple(
            ((key(segment.pk), key(spot)), key(member))
            for segment in rows.marching
            for member, spot in rows.holders.items()
            if member in rows.known
        )
    seats = last.rows.filter(member__isnull=False)
    seated = seats.values_list("segment_id", "spot_id", "member_id")
    return tuple(((key(g), key(s)), key(m)) for g, s, m in seated if m in rows.known)


def pins(rows: Rows, ordered: list[Pin]) -> tuple[core.Pin, ...]:
    """Whom staff put where, segment by segment."""
    return tuple(
        core.Pin(segment, key(pin.spot_id), key(pin.member_id))
        for pin in ordered
        for segment in _segments_of(pin.segment_id, rows)
        if pin.member_id in rows.known
    )


def blocks(ordered: list[Block]) -> tuple[core.Block, ...]:
    """Whom staff keep from where."""
    return tuple(
        core.Block(
            key(block.member_id),
            key(block.segment_id) if block.segment_id else None,
            key(block.spot_id) if block.spot_id else None,
        )
        for block in ordered
    )


def left_open(rows: Rows, ordered: list[OpenSeat]) -> frozenset[core.Seat]:
    """Seats that staff leave open."""
    return frozenset(
        (segment, key(seat.spot_id))
        for seat in ordered
        for segment in _segments_of(seat.segment_id, rows)
    )


def _segments_of(segment_id: int | None, rows: Rows) -> list[str]:
    """The one segment of an order, or all that are marched."""
    if segment_id is None:
        return list(rows.seats_of)
    return [segment for segment in rows.seats_of if segment == key(segment_id)]


def backups(rows: Rows) -> tuple[core.Backup, ...]:
    """Who is named in readiness, in which order."""
    return tuple(
        core.Backup(key(backup.spot_id), key(backup.member_id), backup.order)
        for backup in queries.backups(rows.season)
        if backup.member_id in rows.known
    )


def stock(rows: Rows) -> tuple[tuple[str, int], ...]:
    """School instruments there are, where they are counted: by the store's items, or by the
    number that staff gave."""
    numbers = {
        instrument.pk: rows.stock.get(instrument.pk, instrument.school_stock)
        for instrument in people_queries.instruments(rows.season)
    }
    return tuple((key(pk), number) for pk, number in numbers.items() if number is not None)


def wears(rows: Rows) -> tuple[core.Wear, ...]:
    """What whoever marches a part in a segment has to wear."""
    return tuple(core.Wear(key(g), key(p), key(k)) for g, p, k in rows.dress.asked)


def spares(rows: Rows) -> tuple[core.Spare, ...]:
    """Nobody's pieces, by whom they fit."""
    return tuple(core.Spare(key(kind), size, count) for kind, size, count in rows.dress.spares)


def settings(rows: Rows) -> core.Settings:
    """What the season chose."""
    return core.Settings(
        rows.season.use_weights,
        rows.season.fairness_before_standing,
        pool=core.Pool(rows.season.alternates_by),
    )
