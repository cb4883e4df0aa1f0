"""Named backups and their order."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from drill.backups.services import backups as services
from drill.lineup.models import Backup
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("orders are unique and change places")]


def named(band: Band, spot: str) -> list[tuple[int, str]]:
    rows = Backup.objects.filter(spot=band.spots[spot]).order_by("order")
    return [(c.order, c.member.name) for c in rows]


def add(band: Band, cast: Cast, spot: str, name: str) -> Backup:
    return services.add_backup(actor=cast.staff, spot=band.spots[spot], member=band.members[name])


def test_backups_keep_their_order(band: Band, cast: Cast) -> None:
    first = add(band, cast, "1-3", "Ida Voss")
    add(band, cast, "1-3", "Jon Pell")
    third = add(band, cast, "1-3", "Gus Tamm")
    services.make_first_backup(actor=cast.staff, backup=third)
    assert named(band, "1-3") == [(1, "Gus Tamm"), (2, "Ida Voss"), (3, "Jon Pell")]
    first.refresh_from_db()
    services.remove_backup(actor=cast.staff, backup=first)
    assert named(band, "1-3") == [(1, "Gus Tamm"), (2, "Jon Pell")]


@pytest.mark.parametrize(
    ("name", "why"), [("Dee Quill", "does not play"), ("Cai Ørnberg", "holds 1-3")]
)
def test_only_others_who_play_the_part_can_be_backups(
    band: Band, cast: Cast, name: str, why: str
) -> None:
    with pytest.raises(Refused, match=why):
        add(band, cast, "1-3", name)


def test_nobody_is_a_backup_for_a_spot_twice(band: Band, cast: Cast) -> None:
    add(band, cast, "1-3", "Ida Voss")
    with pytest.raises(Refused, match="already"):
        add(band, cast, "1-3", "Ida Voss")


def test_a_backup_of_an_old_page_is_not_made_again(band: Band, cast: Cast) -> None:
    add(band, cast, "1-3", "Ida Voss")
    second = add(band, cast, "1-3", "Jon Pell")
    old = Backup.objects.get(pk=second.pk)
    services.make_first_backup(actor=cast.staff, backup=second)
    with pytest.raises(Refused, match="just changed the backups"):
        services.make_first_backup(actor=cast.staff, backup=old)
    assert named(band, "1-3") == [(1, "Jon Pell"), (2, "Ida Voss")]
