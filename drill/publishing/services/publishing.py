"""Publishing: a frozen revision, its change notice and its jobs, in one transaction."""

from __future__ import annotations

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.core.check import violations
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import keep_what_is_over
from drill.lineup.services.overrides import sign_override
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of, refuse_all_over
from drill.lineup.services.settling import say, settle
from drill.publishing.services.change_notices import ChangeNotice, add_notices, change_notice
from drill.publishing.services.print_jobs import add_print, add_print_jobs


def publish_lineup(
    *,
    actor: User,
    event: Event,
    seen_version: int,
    seen_number: int | None,
    reason: str = "",
) -> Lineup:
    """Publish the draft the staff member looked at.

    Overtaken when the draft was edited or another revision came out meanwhile; Refused when the
    draft breaks a rule as the data stand now, or the cut-off has passed and no reason is given.
    """
    with recorded(actor, "publish lineup"):
        Event.objects.select_for_update().get(pk=event.pk)
        last, draft = lineup_queries.published(event), lineup_queries.draft(event)
        number = last.number if last else None
        if number != seen_number:
            by = f" by {last.published_by}" if last and last.published_by else ""
            raise Overtaken(f"Revision {number} was just published{by}: look at it first.")
        if draft is None:
            raise Refused("There is no draft to publish.")
        if not draft.rows.exists():
            raise Refused("The event has no marching segment: nothing to publish.")
        if draft.version != seen_version:
            raise Overtaken("The draft just changed: look at the notice again.")
        built = build(event)
        refuse_all_over(built)
        keep_what_is_over(draft, built)
        _refuse_broken(built, draft)
        publish_draft(actor, draft, built, (number or 0) + 1, reason)
    return draft


def publish_draft(actor: User, draft: Lineup, built: Built, number: int, reason: str = "") -> None:
    """Freeze the draft as a revision, tell those it touches, and have its pages printed."""
    sign_override(actor, draft, reason)
    notice = change_notice(built, draft)
    _freeze(actor, draft, built, notice, number)
    add_notices(draft, built, notice)
    add_print_jobs(draft, draft.event.season.paper)
    if not notice.first and notice.told:
        add_print(draft, "slips", draft.event.season.paper)


def _refuse_broken(built: Built, draft: Lineup) -> None:
    before = built.still(placements_of(draft))
    placements, emptied = settle(built, before)
    if emptied or len(placements) != len(before):
        details = tuple(
            f"{built.segments[g]} {built.spots[s]}: its member can no longer march it"
            for g, s in emptied
        )
        message = "Something changed since the draft was made: use the new proposal first."
        raise Refused(message, details)
    broken = violations(built.to_come, placements)
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
    draft.dots = {
        str(show): {str(spot): dot for spot, dot in at.items()}
        for show, at in built.drills.dots.items()
    }
    draft.save()
