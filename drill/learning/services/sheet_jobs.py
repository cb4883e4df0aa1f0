"""Set sheets made by workers: a job a rank, asked for one rank or for the whole band."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.outbox.dispatch import add_job
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.progress import progress_among
from drill.learning.services.set_sheets import version_for
from drill.shows.models import Show
from roster.people.models import Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank

KIND = "learning.sheets"
WHOLE = "all"
"""in the place of a rank, in the group of what was asked for all ranks"""


@dataclass(frozen=True)
class SheetFile:
    """Whose sheets a job or file is about, as its key says."""

    show: int
    rank: int
    asked: str

    @property
    def key(self) -> str:
        return f"{_of_rank(self.show, self.rank)}{self.asked}"


def read_key(key: str) -> SheetFile | None:
    """What the key of a job or file says; None where it is not of set sheets."""
    parts = key.split(":")
    if len(parts) != 4 or parts[0] != "sheets" or not (parts[1] + parts[2]).isdigit():
        return None
    return SheetFile(int(parts[1]), int(parts[2]), parts[3])


def ask_for_sheets(*, actor: User, season: Season, show: Show, rank: Rank | None, key: Any) -> int:
    """Jobs for the sheets of a rank, or of every rank that has spots; how many. Asking twice with
    one key makes one of each."""
    version = version_for(season, show)
    if version is None:
        raise Refused(f"{show} has no coordinates yet.")
    spots = rank_queries.spots(season).filter(**({"rank": rank} if rank else {}))
    ids = dict.fromkeys(spots.values_list("rank_id", flat=True))
    if not ids:
        raise Refused("There are no spots to make set sheets for.")
    asked = str(uuid.UUID(str(key)))
    group = f"{_of_rank(show.pk, rank.pk if rank else WHOLE)}{asked}"
    with recorded(actor, "ask for set sheets"):
        for pk in ids:
            it = SheetFile(show.pk, pk, asked)
            payload = {"version": version.pk, "rank": pk, "paper": season.paper, "key": it.key}
            add_job(key=it.key, kind=KIND, group=group, payload=payload | {"group": group})
    return len(ids)


def progress_of_sheets(show: Show, rank: Rank | None) -> dict[str, Any]:
    """How far the sheets that were asked for last are, and their files."""
    jobs = Job.objects.filter(kind=KIND)
    if rank is not None:
        last = jobs.filter(key__startswith=_of_rank(show.pk, rank.pk)).order_by("-pk").first()
        key = last.key if last else ""
        return progress_among(Job.objects.filter(key=key), Artifact.objects.filter(key=key))
    last = jobs.filter(group__startswith=_of_rank(show.pk, WHOLE)).order_by("-pk").first()
    group = last.group if last else _of_rank(show.pk, WHOLE)
    return progress_among(Job.objects.filter(group=group), Artifact.objects.filter(group=group))


def _of_rank(show: int, rank: int | str) -> str:
    return f"sheets:{show}:{rank}:"
