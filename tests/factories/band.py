"""The small band: rank 1 (three trumpets, two clarinets), rank 2 (two trumpets, one sousaphone)."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from bandops.lib.names import plain
from drill.events.models import Event, Segment
from drill.shows.models import Show
from roster.people.models import Instrument, Member, Part, Person, Qualification, Season
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot

GAME_DAY = datetime.date(2099, 10, 17)
SEASON_START = datetime.date(2099, 8, 10)


@dataclass
class Band:
    """The rows by short names."""

    season: Season
    parts: dict[str, Part] = field(default_factory=dict)
    ranks: dict[str, Rank] = field(default_factory=dict)
    spots: dict[str, Spot] = field(default_factory=dict)
    members: dict[str, Member] = field(default_factory=dict)
    event: Event = field(init=False)
    pregame: Segment = field(init=False)
    halftime: Segment = field(init=False)
    stands: Segment = field(init=False)

    def member(
        self, name: str, part: str, *doubles: str, years: int = 2, **values: object
    ) -> Member:
        """One more member with an address of their own."""
        slug = plain(name).replace(" ", ".")
        person = Person.objects.create(
            legal_name=name,
            email=f"{slug}@quillwater.example",
            student_number=f"{len(self.members) + 4417:06d}",
        )
        member = Member.objects.create(
            person=person, season=self.season, years_marched=years, **values
        )
        Qualification.objects.create(member=member, part=self.parts[part], main=True)
        for double in doubles:
            Qualification.objects.create(member=member, part=self.parts[double])
        self.members[name] = member
        return member

    def spot(self, rank: str, number: int, part: str, holder: Member | None = None) -> Spot:
        """One more spot, held from the season's start."""
        spot = Spot.objects.create(rank=self.ranks[rank], number=number, part=self.parts[part])
        self.spots[f"{rank}-{number}"] = spot
        if holder is not None:
            Holding.objects.create(spot=spot, member=holder, starts=self.season.starts)
        return spot

    def alternate(self, rank: str, part: str, member: Member, standing: int) -> AlternatePlace:
        """One more alternate."""
        return AlternatePlace.objects.create(
            member=member,
            rank=self.ranks[rank],
            part=self.parts[part],
            pool=self.season.alternates_by,
            standing=standing,
        )


def make_band() -> Band:
    """Two ranks with holders, alternates, leaders; a game with pregame, halftime and stands."""
    season = Season.objects.create(
        name="2099",
        band_name="Quillwater College Marching Band",
        starts=SEASON_START,
        ends=datetime.date(2099, 12, 20),
        is_current=True,
    )
    band = Band(season)
    for name, stock in (("Trumpet", None), ("Clarinet", None), ("Sousaphone", 2)):
        instrument = Instrument.objects.create(season=season, name=name, school_stock=stock)
        band.parts[name.lower()] = Part.objects.create(
            season=season, instrument=instrument, name=name, code=name.lower()
        )
    for order, label in enumerate(("1", "2"), 1):
        band.ranks[label] = Rank.objects.create(season=season, label=label, order=order)
    _seat(band)
    _schedule(band)
    return band


def _seat(band: Band) -> None:
    seats = (
        ("1", 1, "trumpet", "Ana Núñez"),
        ("1", 2, "trumpet", "Bo Larkspur"),
        ("1", 3, "trumpet", "Cai Ørnberg"),
        ("1", 4, "clarinet", "Dee Quill"),
        ("1", 5, "clarinet", "Eno Farrow"),
        ("2", 1, "trumpet", "Fay Ashgrove"),
        ("2", 2, "trumpet", "Gus Tamm"),
        ("2", 3, "sousaphone", "Hal Brook"),
    )
    for rank, number, part, name in seats:
        band.spot(rank, number, part, band.member(name, part))
    alternates = (
        ("1", "trumpet", "Ida Voss", 1),
        ("1", "trumpet", "Jon Pell", 2),
        ("2", "trumpet", "Kit Moss", 1),
    )
    for rank, part, name, standing in alternates:
        band.alternate(rank, part, band.member(name, part, years=0), standing)
    for label, leader, assistant in (
        ("1", "Ana Núñez", "Bo Larkspur"),
        ("2", "Fay Ashgrove", "Gus Tamm"),
    ):
        led = band.ranks[label]
        led.leader, led.assistant_leader = band.members[leader], band.members[assistant]
        led.save()


def _schedule(band: Band) -> None:
    show = Show.objects.create(season=band.season, name="Tidewheel")
    band.event = Event.objects.create(
        season=band.season,
        name="Pellowick at home",
        date=GAME_DAY,
        time_zone="America/Chicago",
        call_time=datetime.time(11),
    )
    times = (("Pregame", "pregame", 14, show), ("Halftime", "halftime", 16, show))
    made = [
        Segment.objects.create(
            event=band.event,
            order=order,
            name=name,
            kind=kind,
            show=drill,
            starts=datetime.time(hour),
            ends=datetime.time(hour, 20),
        )
        for order, (name, kind, hour, drill) in enumerate(times, 1)
    ]
    band.pregame, band.halftime = made
    band.stands = Segment.objects.create(
        event=band.event,
        order=3,
        name="Stands",
        kind="stands",
        starts=datetime.time(17),
        ends=datetime.time(18),
    )
