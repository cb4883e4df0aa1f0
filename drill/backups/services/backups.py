"""Named backups of a spot."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.lineup.models import Backup
from roster.people.models import Member
from roster.ranks.models import Spot


def add_backup(*, actor: User, spot: Spot, member: Member) -> Backup:
    """Name a member as the spot's next backup."""
    with recorded(actor, "name backup"):
        Spot.objects.select_for_update().get(pk=spot.pk)
        if not member.qualifications.filter(part=spot.part_id).exists():
            raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")
        if member.holdings.filter(spot=spot, ends__isnull=True).exists():
            raise Refused(f"{member} holds {spot}.")
        backups = Backup.objects.filter(spot=spot)
        if backups.filter(member=member).exists():
            raise Refused(f"{member} is already a backup for {spot}.")
        return Backup.objects.create(spot=spot, member=member, order=backups.count() + 1)


def remove_backup(*, actor: User, backup: Backup) -> None:
    """The member is no longer a backup for the spot; those behind move up."""
    with recorded(actor, "remove backup"):
        spot = backup.spot
        Spot.objects.select_for_update().get(pk=spot.pk)
        Backup.objects.filter(pk=backup.pk).delete()
        _renumber(spot)


def make_first_backup(*, actor: User, backup: Backup) -> None:
    """The backup goes before all others of the spot."""
    with recorded(actor, "make first backup"):
        Spot.objects.select_for_update().get(pk=backup.spot_id)
        if not Backup.objects.filter(pk=backup.pk).delete()[0]:
            raise Refused(f"Somebody just changed the backups for {backup.spot}: look again.")
        others = list(Backup.objects.filter(spot=backup.spot_id).order_by("-order"))
        for other in others:
            other.order += 1
            other.save()
        Backup.objects.create(spot=backup.spot, member=backup.member, order=1)


def _renumber(spot: Spot) -> None:
    """Orders 1, 2, … without gaps; ascending, so that no two meet on the way."""
    for order, backup in enumerate(Backup.objects.filter(spot=spot).order_by("order"), 1):
        if backup.order != order:
            backup.order = order
            backup.save()
