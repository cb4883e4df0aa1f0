"""The practice log: who worked on which spot, and what that makes of sets practised."""

from __future__ import annotations

import datetime
import uuid

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill import queries
from drill.models import DrillSet, Event, Practice, PracticeEntry, Show
from drill.services.rehearsals import keep_once, noted_moment
from roster import queries as roster
from roster.models import Holding, Member, Spot


def log_practice(
    *,
    actor: User,
    event: Event,
    member: Member,
    spot: Spot,
    show: Show,
    first_set: int | None,
    last_set: int | None,
    key: uuid.UUID,
    noted_at: datetime.datetime | None,
) -> PracticeEntry:
    """A member worked on a spot, from one set to another (their orders; None for all of them).

    The same entry sent twice is kept once.
    """
    moment = noted_moment(event, noted_at)
    first, last = _span(show, first_set, last_set)
    _refuse_needless(event, member, spot)
    told = {"event": event, "member": member, "spot": spot, "show": show}
    with recorded(actor, "log practice"):
        Member.objects.select_for_update().get(pk=member.pk)
        entry = keep_once(
            PracticeEntry,
            key=key,
            told={**told, "first_set": first, "last_set": last, "noted_by": actor},
            noted_at=moment,
        )
        _recount(member, spot, show)
    return entry


def take_back(*, actor: User, entry: PracticeEntry) -> None:
    """The entry was a mistake; the audit keeps it."""
    with recorded(actor, "take practice back"):
        Member.objects.select_for_update().get(pk=entry.member_id)
        PracticeEntry.objects.filter(pk=entry.pk).delete()
        _recount(entry.member, entry.spot, entry.show)


def _span(show: Show, first: int | None, last: int | None) -> tuple[int, int]:
    orders = sets_of({show.pk}).get(show.pk, [])
    if not orders:
        raise Refused(f"{show} has no sets yet: import its coordinates first.")
    known = [s.order for s in orders]
    first, last = first or known[0], last or known[-1]
    if first not in known or last not in known:
        raise Refused(f"{show} has no such set now: choose again.")
    if last < first:
        raise Refused("The last set comes before the first.")
    return first, last


def _refuse_needless(event: Event, member: Member, spot: Spot) -> None:
    if not member.qualifications.filter(part=spot.part_id).exists():
        raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")
    own = Holding.objects.filter(roster.holdings_on(event.date), member=member, spot=spot)
    if own.exists():
        raise Refused(f"{member} holds {spot}: the log is for spots of others.")


def sets_of(show_ids: set[int]) -> dict[int, list[DrillSet]]:
    """Show id -> the sets of its version in use, in order."""
    versions = queries.current_versions(show_ids)
    found: dict[int, list[DrillSet]] = {show: [] for show in versions}
    shows = {version.pk: show for show, version in versions.items()}
    for row in DrillSet.objects.filter(version__in=list(shows)).order_by("order"):
        found[shows[row.version_id]].append(row)
    return found


def _recount(member: Member, spot: Spot, show: Show) -> None:
    """Bring the figure in line with the log: never below what was told apart from it."""
    entries = PracticeEntry.objects.filter(member=member, spot=spot, show=show)
    spans = list(entries.values_list("first_set", "last_set"))
    orders = [s.order for s in sets_of({show.pk}).get(show.pk, [])]
    logged = sum(any(first <= order <= last for first, last in spans) for order in orders)
    row = Practice.objects.filter(member=member, spot=spot, show=show).first()
    if row is None:
        row = Practice(member=member, spot=spot, show=show, sets=0)
    told = row.sets if row.base is None else row.base
    if spans:
        row.base, row.sets = told, max(told, logged)
        row.save()
    elif told:
        row.base, row.sets = None, told
        row.save()
    elif row.pk is not None:
        row.delete()
