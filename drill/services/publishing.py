"""Publishing: a frozen revision, its change notice and its jobs, in one transaction."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.outbox.dispatch import add_job
from drill import queries
from drill.core.changes import MemberChange, member_changes, seats_of
from drill.core.check import violations
from drill.core.problem import Origin
from drill.enums import LineupState
from drill.models import Event, Lineup, Notice
from drill.services.lineups import say, settle, sign_by_hand
from drill.services.problem_builder import Built, build
from drill.services.proposals import placements_of


@dataclass(frozen=True)
class ChangeNotice:
    """What a publication changes: by member, the ranks touched, and the holes that remain."""

    first: bool
    changes: tuple[MemberChange, ...]
    ranks: tuple[str, ...]
    holes: tuple[tuple[str, str], ...]

    def members(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(c.member for c in self.changes))

    def stored(self) -> dict[str, Any]:
        """Keys and codes only, so that erasing a person's name reaches every notice."""
        return {
            "first": self.first,
            "changes": [
                [c.segment, c.member, c.change.value, c.before, c.after] for c in self.changes
            ],
            "ranks": list(self.ranks),
            "holes": [list(seat) for seat in self.holes],
        }


def change_notice(built: Built, draft: Lineup) -> ChangeNotice:
    """What publishing the draft would change against the last revision."""
    last = queries.published(draft.event)
    after = placements_of(draft)
    before = seats_of(placements_of(last)) if last else {}
    changes = member_changes(before, seats_of(after))
    ranks = {
        built.problem_rank(spot)
        for c in changes
        for spot in (c.before, c.after)
        if spot is not None
    }
    holes = tuple(sorted((p.segment, p.spot) for p in after if p.origin is Origin.HOLE))
    return ChangeNotice(last is None, changes, tuple(sorted(ranks)), holes)


def publish_lineup(
    *, actor: User, event: Event, seen_version: int, seen_number: int | None
) -> Lineup:
    """Publish the draft the staff member looked at.

    Overtaken when the draft was edited or another revision came out meanwhile; Refused when the
    draft breaks a rule as the data stand now.
    """
    with recorded(actor, "publish lineup"):
        Event.objects.select_for_update().get(pk=event.pk)
        last, draft = queries.published(event), queries.draft(event)
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
        _publish(actor, draft, built, (number or 0) + 1)
    return draft


def publish_settled(*, actor: User, draft: Lineup) -> Lineup:
    """Publish a draft made by a release: rows that became impossible are emptied first."""
    with recorded(actor, "publish lineup"):
        event = draft.event
        last = queries.published(event)
        built = build(event)
        _, emptied = settle(built, placements_of(draft))
        for segment, spot in emptied:
            rows = draft.rows.filter(segment=built.segments[segment], spot=built.spots[spot])
            rows.update(member=None, origin=Origin.HOLE, reason={"code": "left"})
        sign_by_hand(draft, built, settle(built, placements_of(draft))[0])
        _publish(actor, draft, built, (last.number or 0) + 1 if last else 1)
    return draft


def _publish(actor: User, draft: Lineup, built: Built, number: int) -> None:
    notice = change_notice(built, draft)
    _freeze(actor, draft, built, notice, number)
    _add_notices(draft, built, notice)
    add_print_jobs(draft, draft.event.season.paper)


def add_print_jobs(lineup: Lineup, paper: str, only: str = "") -> None:
    """Jobs for the lineup and the rehearsal assignments; ``only='changes'`` for changed pages."""
    for kind in ("lineup", "assignments"):
        name = f"{kind}-{paper}" + (f"-{only}" if only else "")
        add_job(
            key=f"print:{lineup.code}:{name}",
            kind="drill.print",
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
    draft.save()


def _add_notices(lineup: Lineup, built: Built, notice: ChangeNotice) -> None:
    """One notice for each member whose place changed, and for the leaders of touched ranks."""
    own: dict[str, list[list[str | None]]] = defaultdict(list)
    for change in notice.changes:
        own[change.member].append(
            [change.segment, change.change.value, change.before, change.after]
        )
    for rank in built.problem.ranks:
        if rank.key in notice.ranks and not notice.first:
            for leader in rank.leaders:
                own.setdefault(leader, [])
    notices = [
        Notice(lineup=lineup, member=built.members[member], content={"changes": changes})
        for member, changes in sorted(own.items())
        if member in built.members
    ]
    for row in Notice.objects.bulk_create(notices):
        add_job(
            key=f"notice:{row.pk}",
            kind="drill.notice",
            group=group_of(lineup),
            payload={"notice": row.pk},
        )
