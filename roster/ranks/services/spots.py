"""Ranks and spots, and the holding that runs on a spot."""

from __future__ import annotations

import datetime

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import label_words
from roster.people.models import Member, Season
from roster.ranks.models import Holding, Rank, Spot
from roster.ranks.ties import SPOTS_RELABELED


def save_rank(*, actor: User, rank: Rank) -> Rank:
    """Add or change a rank; no spot may come to read like another by its new label."""
    with recorded(actor, "save rank"):
        season = _locked(rank.season_id)
        rank.full_clean()
        before = labels_of(season)
        rank.save()
        _check_labels(season)
        tell_relabeled(season, before)
    return rank


def save_spot(*, actor: User, spot: Spot) -> Spot:
    """Add or change a spot; its holder must play the new part."""
    with recorded(actor, "save spot"):
        season = _locked(spot.rank.season_id)
        spot.full_clean()
        before = labels_of(season)
        holding = open_holding(spot=spot) if spot.pk else None
        if holding and not holding.member.qualifications.filter(part=spot.part).exists():
            raise Refused(f"{holding.member} holds {spot} and does not play {spot.part}.")
        spot.save()
        _check_labels(season)
        tell_relabeled(season, before)
    return spot


def labels_of(season: Season) -> dict[int, str]:
    """Spot id -> label."""
    return {s.pk: s.label for s in Spot.objects.filter(rank__season=season).select_related("rank")}


def tell_relabeled(season: Season, before: dict[int, str]) -> None:
    """Tell what goes by labels which of these spots have another one now."""
    now = labels_of(season)
    changed = {pk: (old, now[pk]) for pk, old in before.items() if now.get(pk, old) != old}
    if changed:
        SPOTS_RELABELED.ask(season, changed)


def _locked(season_id: int) -> Season:
    """The season, locked: two who write labels wait for each other."""
    return Season.objects.select_for_update().get(pk=season_id)


def _check_labels(season: Season) -> None:
    """Refused where two spots read the same, but for case, spaces and hyphens."""
    seen: dict[tuple[str, ...], str] = {}
    for label in labels_of(season).values():
        other = seen.setdefault(label_words(label), label)
        if other is not label:
            raise Refused(f"Spots {other} and {label} look the same: give one a different label.")


def open_holding(*, spot: Spot | None = None, member: Member | None = None) -> Holding | None:
    """The holding without an end, of a spot or of a member."""
    holdings = Holding.objects.filter(ends__isnull=True).select_related(
        "spot__rank", "member__person"
    )
    return holdings.filter(spot=spot).first() if spot else holdings.filter(member=member).first()


def lock_rows(spots: list[Spot], members: list[Member]) -> None:
    """Lock rows in id order, so that two writers cannot wait for each other."""
    list(Spot.objects.select_for_update().filter(pk__in=[s.pk for s in spots]).order_by("pk"))
    ids = [m.pk for m in members]
    list(Member.objects.select_for_update().filter(pk__in=ids).order_by("pk"))


def close_holding(holding: Holding, on: datetime.date) -> None:
    """End a holding on a day; one that would have no day at all is removed."""
    if on <= holding.starts:
        holding.delete()
        return
    holding.ends = on
    holding.save()
