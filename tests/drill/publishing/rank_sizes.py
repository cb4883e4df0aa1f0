"""A band with ranks of 3, 12, 30 and 36 spots, alternates and coordinates in both segments."""

from __future__ import annotations

from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.lineup.models import Backup, Lineup
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from roster.ranks.models import Rank
from tests.drill.publishing.revision_prints import out, publish
from tests.factories import Band, Cast

SIZES = {"3": 3, "4": 12, "5": 30, "6": 36}
PAGES = {"3": 1, "4": 1, "5": 1, "6": 2}
ALTERNATES = 4
"""of each rank: as many as anybody had to seat so far"""
ENDS = ("Papadopoulos", "Ó Súilleabháin", "Oak", "Featherstonehaugh")


def add_ranks(band: Band) -> None:
    """Ranks of all sizes, with names long and short, backups and alternates."""
    for order, (label, size) in enumerate(SIZES.items(), 3):
        rank = Rank.objects.create(season=band.season, label=label, order=order)
        band.ranks[label] = rank
        for n in range(1, size + 1):
            member = band.member(f"Konstantina {label}{n} {ENDS[n % 4]}", "clarinet")
            band.spot(label, n, "clarinet", member)
        rank.leader = band.members[f"Konstantina {label}1 {ENDS[1]}"]
        rank.save()
        for n in range(1, ALTERNATES + 1):
            member = band.member(f"Ulla {label}{n} {ENDS[n % 4]}", "clarinet", years=0)
            band.alternate(label, "clarinet", member, n)
            for spot in range(1, min(size, 3) + 1):
                Backup.objects.create(spot=band.spots[f"{label}-{spot}"], member=member, order=n)


def add_coordinates(band: Band) -> None:
    """Everybody in blocks two steps apart, in a show for each segment."""
    pregame = Show.objects.create(season=band.season, name="Northbound Mail")
    band.pregame.show = pregame
    band.pregame.save()
    for show in (pregame, band.halftime.show):
        assert show is not None
        version = ShowVersion.objects.create(show=show, label="one", order=1)
        first = DrillSet.objects.create(version=version, order=1, label="1")
        for n, label in enumerate(band.spots):
            dot = Dot.objects.create(show=show, label=label)
            x, y = (2 * (n % 15) - 14) * STEP, (20 + 2 * (n // 15)) * STEP + STEP // 4
            Position.objects.create(set=first, dot=dot, x=x, y=y)


def large_band(band: Band, cast: Cast) -> Lineup:
    """Revision 2 of the band with all sizes, three of each rank of ten or more out."""
    add_ranks(band)
    add_coordinates(band)
    publish(band, cast)
    for label in ("4", "5", "6"):
        for n in (2, 7, 11):
            out(band, cast, f"Konstantina {label}{n} {ENDS[n % 4]}")
    return publish(band, cast, 1)
