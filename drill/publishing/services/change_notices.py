"""What a new revision changes, and whom its notices tell."""

from __future__ import annotations

from copy import copy
from dataclasses import astuple, dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.keys import key
from drill.backups.models import Lesson
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.problem import Origin
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.publishing.core.telling import SetMove, Told, who_is_told
from drill.publishing.models import Notice
from drill.publishing.services.drill_changes import set_moves
from drill.publishing.services.notices import (
    deliver,
    notice_content,
    notice_mail,
    notices_wait_until,
)
from roster.people.models import Member


@dataclass(frozen=True)
class ChangeNotice:
    """What a publication changes: by member, by set, the ranks touched, the holes that remain,
    and who is told what."""

    first: bool
    changes: tuple[MemberChange, ...]
    sets: tuple[SetMove, ...]
    ranks: tuple[str, ...]
    holes: tuple[tuple[str, str], ...]
    told: tuple[Told, ...]

    def members(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(c.member for c in self.changes))

    def stored(self) -> dict[str, Any]:
        """Keys and codes only, so that erasing a person's name reaches every notice."""
        return {
            "first": self.first,
            "changes": [
                [c.segment, c.member, c.change.value, c.before, c.after] for c in self.changes
            ],
            "sets": [list(astuple(move)) for move in self.sets],
            "ranks": list(self.ranks),
            "holes": [list(seat) for seat in self.holes],
        }


def change_notice(built: Built, draft: Lineup) -> ChangeNotice:
    """What publishing the draft would change against the last revision."""
    last = lineup_queries.published(draft.event)
    after = placements_of(draft)
    seats = seats_of(after)
    before = seats_of(placements_of(last)) if last else {}
    changes = member_changes(before, seats)
    sets = set_moves(last, built) if last else ()
    spots = {s for c in changes for s in (c.before, c.after) if s} | {m.spot for m in sets}
    holes = tuple(sorted((p.segment, p.spot) for p in after if p.origin is Origin.HOLE))
    first = last is None
    backups = in_readiness(built)
    told = who_is_told(built.problem, changes, sets, seats, backups, first=first)
    ranks = tuple(sorted({built.problem_rank(spot) for spot in spots}))
    return ChangeNotice(first, changes, sets, ranks, holes, told)


def in_readiness(built: Built) -> list[tuple[str, str]]:
    """(spot, member): named backups, and who learns the spot by the event's backup plan."""
    pairs = {(c.spot, c.member) for c in built.problem.backups}
    lessons = Lesson.objects.filter(plan__event=built.event)
    pairs |= {(key(s), key(m)) for s, m in lessons.values_list("spot_id", "member_id")}
    return sorted(pair for pair in pairs if pair[1] in built.members)


@dataclass(frozen=True)
class Preview:
    """What one member will be told, word by word."""

    member: Member
    marches: bool
    subject: str
    text: str


def notice_previews(
    built: Built, draft: Lineup, notice: ChangeNotice, number: int
) -> list[Preview]:
    """The mails that publishing the draft as that revision would send, in order of name."""
    names = Names(draft.event.season_id)
    future = copy(draft)
    future.number = number
    found = []
    for told in notice.told:
        member = built.members.get(told.member)
        if member is None:
            continue
        row = Notice(lineup=future, member=member, content=notice_content(told))
        found.append(Preview(member, told.marches, *notice_mail(row, names)))
    return sorted(found, key=lambda p: p.member.person.sort_key)


def add_notices(lineup: Lineup, built: Built, notice: ChangeNotice) -> None:
    """One notice for each member the revision touches, and its job, which keeps quiet hours."""
    waits = notices_wait_until(lineup.event, timezone.now())
    rows = [
        Notice(
            lineup=lineup,
            member=built.members[told.member],
            content=notice_content(told),
            not_before=waits,
        )
        for told in notice.told
        if told.member in built.members
    ]
    for row in Notice.objects.bulk_create(rows):
        deliver(row)
