"""Publishing: a frozen revision, its change notice and its jobs, in one transaction."""

from __future__ import annotations

from copy import copy
from dataclasses import astuple, dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.keys import key
from bandops.lib.outbox.dispatch import add_job
from drill.backups.models import Lesson
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.check import violations
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.lineup.services.lineups import say, settle, sign_by_hand
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.publishing.core.telling import SetMove, Told, who_is_told
from drill.publishing.models import Notice
from drill.publishing.services.drill_changes import set_moves
from drill.publishing.services.notices import notice_content, notice_mail, notices_wait_until
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
    covers = in_readiness(built)
    told = who_is_told(built.problem, changes, sets, seats, covers, first=first)
    ranks = tuple(sorted({built.problem_rank(spot) for spot in spots}))
    return ChangeNotice(first, changes, sets, ranks, holes, told)


def in_readiness(built: Built) -> list[tuple[str, str]]:
    """(spot, member): named covers, and who learns the spot by the event's cover plan."""
    pairs = {(c.spot, c.member) for c in built.problem.covers}
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


def publish_lineup(
    *, actor: User, event: Event, seen_version: int, seen_number: int | None
) -> Lineup:
    """Publish the draft the staff member looked at.

    Overtaken when the draft was edited or another revision came out meanwhile; Refused when the
    draft breaks a rule as the data stand now.
    """
    with recorded(actor, "publish lineup"):
        Event.objects.select_for_update().get(pk=event.pk)
        last, draft = lineup_queries.published(event), lineup_queries.draft(event)
        number = last.number if last else None
        if number != seen_number:
            by = f" by {last.published_by}" if last and last.published_by else ""
            raise Overtaken(f"Revision {number} was published meanwhile{by}: look at it first.")
        if draft is None:
            raise Refused("There is no draft to publish.")
        if not draft.rows.exists():
            raise Refused("The event has no segment that marches: there is nothing to publish.")
        if draft.version != seen_version:
            raise Overtaken("The draft was changed meanwhile: look at the notice again.")
        built = build(event)
        _refuse_broken(built, draft)
        publish_draft(actor, draft, built, (number or 0) + 1)
    return draft


def publish_settled(*, actor: User, draft: Lineup) -> Lineup:
    """Publish a draft made by a release: rows that became impossible are emptied first."""
    with recorded(actor, "publish lineup"):
        event = draft.event
        last = lineup_queries.published(event)
        built = build(event)
        _, emptied = settle(built, placements_of(draft))
        for segment, spot in emptied:
            rows = draft.rows.filter(segment=built.segments[segment], spot=built.spots[spot])
            rows.update(member=None, origin=Origin.HOLE, reason={"code": "left"})
        sign_by_hand(draft, built, settle(built, placements_of(draft))[0])
        publish_draft(actor, draft, built, (last.number or 0) + 1 if last else 1)
    return draft


def publish_draft(actor: User, draft: Lineup, built: Built, number: int) -> None:
    notice = change_notice(built, draft)
    _freeze(actor, draft, built, notice, number)
    _add_notices(draft, built, notice)
    add_print_jobs(draft, draft.event.season.paper)
    if not notice.first and notice.told:
        _add_print(draft, "slips", draft.event.season.paper)


def add_print_jobs(lineup: Lineup, paper: str, only: str = "") -> None:
    """Jobs for the lineup and the rehearsal assignments; ``only='changes'`` for changed pages."""
    for kind in ("lineup", "assignments"):
        _add_print(lineup, kind, paper, only)


def _add_print(lineup: Lineup, kind: str, paper: str, only: str = "") -> None:
    name = f"{kind}-{paper}" + (f"-{only}" if only else "")
    add_job(
        key=f"print:{lineup.code}:{name}",
        kind="publishing.print",
        group=group_of(lineup),
        payload={"lineup": lineup.pk, "print": kind, "paper": paper, "only": only},
    )


def group_of(lineup: Lineup) -> str:
    """The name that joins a revision's jobs and files."""
    return f"lineup:{lineup.pk}"


def _refuse_broken(built: Built, draft: Lineup) -> None:
    placements, emptied = settle(built, placements_of(draft))
    if emptied or len(placements) != draft.rows.count():
        details = tuple(
            f"{built.segments[g]} {built.spots[s]}: its member can no longer march it"
            for g, s in emptied
        )
        message = "The draft was made from data that has changed: take the new proposal first."
        raise Refused(message, details)
    broken = violations(built.problem, placements)
    if broken:
        raise Refused("The draft breaks a rule:", tuple(say(built, v) for v in broken))


def _freeze(actor: User, draft: Lineup, built: Built, notice: ChangeNotice, number: int) -> None:
    draft.state = LineupState.PUBLISHED
    draft.number = number
    draft.published_by = actor
    draft.published_at = timezone.now()
    draft.change_notice = notice.stored()
    draft.problem_hash, draft.facts_hash = built.problem_hash, built.facts_hash
    draft.show_versions = {str(show): v.pk for show, v in built.versions.items()}
    draft.places = {
        str(show): {str(spot): place for spot, place in at.items()}
        for show, at in built.drills.places.items()
    }
    draft.save()


def _add_notices(lineup: Lineup, built: Built, notice: ChangeNotice) -> None:
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
        add_job(
            key=f"notice:{row.pk}",
            kind="publishing.notice",
            group=group_of(lineup),
            payload={"notice": row.pk},
            not_before=waits,
        )
