"""Slips: for each person a revision touches, to hand over or put on a music stand; one on half a
page, or those of many people several to a sheet, to cut apart."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bandops.lib.keys import key
from bandops.lib.pdf.render import Made, render_pdf
from drill.events.models import Segment
from drill.field.services.writing import Writer, writer_of
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.models import Lineup
from drill.lineup.queries import dots_in
from drill.lineup.services.leading import leading_in
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.publishing.core.netting import Content, net, still_to_come
from drill.publishing.models import Notice
from drill.publishing.pdf.stamps import stamp
from drill.publishing.services.briefings import Briefing, briefings
from drill.publishing.services.cards import Card, card
from drill.publishing.services.slips import told_since
from drill.publishing.wording import distance_text, notice_sentences
from drill.shows.models import Position
from roster.people.models import Member
from roster.ranks.models import Spot

PAPERS = {"letter": "half letter", "a4": "a5"}


@dataclass(frozen=True)
class MovedSet:
    """A set in which a dot moved, with where it stands now."""

    segment: str
    spot: str
    label: str
    moved: str
    across: str
    depth: str


@dataclass(frozen=True)
class Slip:
    """One person's slip."""

    member: Member
    card: Card
    sentences: tuple[str, ...]
    moved: tuple[MovedSet, ...]
    briefings: tuple[Briefing, ...]


Told = Mapping[Member, Sequence[Notice]]
"""whose slip tells which notices, in order"""


def notices_of(lineup: Lineup) -> list[Notice]:
    """The revision's notices in order of name."""
    rows = lineup.notices.select_related("member__person")
    return list(rows.order_by("member__person__sort_key", "member_id"))


def render_slips(lineup: Lineup, members: Iterable[Member], paper: str) -> bytes:
    """PDF bytes, a page a person, on half of the paper: what the revision and those after it come
    to, by the newest."""
    newest = lineup_queries.published(lineup.event) or lineup
    newest.event = lineup.event
    return _pdf("slips", newest, told_since(lineup, members), PAPERS[paper])


def render_slip_sheets(lineup: Lineup, told: Told, paper: str) -> bytes:
    """PDF bytes, several to a sheet; every slip carries its own stamp, to stay with it."""
    return _pdf("slip_sheets", lineup, told, paper)


def _pdf(template: str, lineup: Lineup, told: Told, size: str) -> bytes:
    writer = writer_of(lineup.event.season, lineup.event.field_type)
    context = stamp(lineup) | {
        "lineup": lineup,
        "event": lineup.event,
        "slips": slips_of(lineup, told, writer),
        "note": writer.note,
    }
    return render_pdf(
        f"publishing/print/{template}.html",
        context,
        paper=size,
        title=f"Slips: {lineup.event}, revision {lineup.number}",
        zone=lineup.event.season.zone,
    )


def slips_of(lineup: Lineup, told: Told, writer: Writer) -> list[Slip]:
    """What the slips say: what of the notices holds by the lineup, and where their members stand
    by it."""
    names, seats = Names(lineup.event.season_id), seats_of(placements_of(lineup))
    leading = leading_in(lineup)
    over = {key(pk) for pk in lineup_queries.segments_over(lineup.event)}
    contents = {
        member: still_to_come(net([n.content for n in notices], key(member.pk), seats), over)
        for member, notices in told.items()
    }
    where = _Where(lineup, contents.values(), writer)
    known = briefings(lineup, told, writer)
    return [
        Slip(
            member,
            card(member, lineup.event, lineup, writer, leading),
            tuple(notice_sentences(content, names)),
            tuple(where.moved(content, names)),
            tuple(known.get(member.pk, ())),
        )
        for member, content in contents.items()
    ]


class _Where:
    """Where the moved spots stand in their sets, read once for all slips."""

    def __init__(self, lineup: Lineup, contents: Iterable[Content], writer: Writer) -> None:
        self.writer = writer
        wanted: dict[int, set[int]] = defaultdict(set)
        for content in contents:
            for segment, spot, _, _ in _moves(content):
                wanted[int(segment)].add(int(spot))
        self.at: dict[tuple[str, str, str], tuple[int, int]] = {}
        for segment in Segment.objects.filter(pk__in=wanted):
            self._read(lineup, segment, wanted[segment.pk])

    def _read(self, lineup: Lineup, segment: Segment, spot_ids: set[int]) -> None:
        version = lineup.show_versions.get(str(segment.show_id))
        if version is None or segment.show_id is None:
            return
        spots = Spot.objects.filter(pk__in=spot_ids).select_related("rank")
        label_of = dots_in(lineup, segment.show_id, spots)
        spot_at = {dot: spot for spot, dot in label_of.items()}
        rows = Position.objects.filter(set__version=version, dot__label__in=spot_at)
        for label, dot, x, y in rows.values_list("set__label", "dot__label", "x", "y"):
            self.at[key(segment.pk), key(spot_at[dot]), label] = (x, y)

    def moved(self, content: Content, names: Names) -> Iterable[MovedSet]:
        """The moved sets of a notice with their new coordinates."""
        for segment, spot, label, distance in _moves(content):
            at = self.at.get((segment, spot, label))
            if at is not None:
                yield MovedSet(
                    names.segment(segment),
                    names.spot(spot),
                    label,
                    distance_text(distance, self.writer.style),
                    self.writer.across(at[0]),
                    self.writer.depth(at[1]),
                )


def _moves(content: Content) -> list[Any]:
    return [*content.get("sets", ()), *content.get("backups", ())]


def render_slips_of_told(lineup: Lineup, paper: str, only: str) -> Made:
    """A slip for each person who is told of a revision."""
    members = [notice.member for notice in notices_of(lineup)]
    content = render_slips(lineup, members, paper)
    return Made(f"slips-{paper}", "Slips for those who are told", content)
