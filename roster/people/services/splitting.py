"""A part that is split, as Trumpet into Trumpet 1, 2 and 3: who plays which, and what follows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name, plain
from roster.people.models import Member, Part, Qualification
from roster.people.services.instruments import LONGEST_NAME, free_code, remove_part, save_part
from roster.people.ties import MOVE_PLACES, Place, places_of

MOST_PARTS = 12
"""parts that one is split into"""


@dataclass(frozen=True)
class Player:
    """Somebody who plays the part, with the places that follow them."""

    member: Member
    main: bool
    places: tuple[Place, ...]


def players_of(part: Part) -> tuple[list[Player], list[Place]]:
    """Who plays a part, and the places that need it and belong to nobody."""
    places = places_of(part)
    rows = part.qualifications.select_related("member__person")
    rows = rows.order_by("member__person__sort_key")
    players = [
        Player(q.member, q.main, tuple(p for p in places if p.member_id == q.member_id))
        for q in rows
    ]
    known = {player.member.pk for player in players}
    return players, [place for place in places if place.member_id not in known]


def names_of_parts(text: str, part: Part) -> list[str]:
    """The parts a text names, one a line. Refused for none, too many, or the part itself."""
    names = list(dict.fromkeys(filter(None, map(clean_name, text.splitlines()))))
    if not names:
        raise Refused("Name the parts, one per line.")
    if len(names) > MOST_PARTS or any(len(name) > LONGEST_NAME for name in names):
        raise Refused(f"At most {MOST_PARTS} parts, of at most {LONGEST_NAME} characters each.")
    if plain(part.name) in map(plain, names):
        raise Refused(f"{part} is the part you are splitting: give the new ones other names.")
    return names


def split_part(
    *,
    actor: User,
    part: Part,
    names: Iterable[str],
    of_member: Mapping[int, str],
    of_place: Mapping[str, str],
) -> bool:
    """Give members and open places one of the named parts, which are made where they are not
    there; spots and alternates' places follow their members.

    Whom nothing is said of keeps the part. True where nobody did, and it is gone. Refused for a
    name that is not among those of the split.
    """
    with recorded(actor, "split part"):
        locked = Part.objects.select_for_update(of=("self",))
        part = locked.select_related("instrument", "season").get(pk=part.pk)
        parts = {name: _part(actor, part, name) for name in names}
        if not {*of_member.values(), *of_place.values()} <= parts.keys():
            raise Refused("Choose among the parts named above.")
        places = {p.key: parts[of_place[p.key]] for p in places_of(part) if p.key in of_place}
        for place in places_of(part):
            follows = of_member.get(place.member_id or 0)
            if follows is not None:
                places[place.key] = parts[follows]
        for row in part.qualifications.filter(member__in=of_member).select_related("member"):
            _play(row, parts[of_member[row.member_id]])
        MOVE_PLACES.ask(actor, part, places)
        return _gone(actor, part)


def _part(actor: User, old: Part, name: str) -> Part:
    for part in old.instrument.parts.all():
        if plain(part.name) == plain(name):
            return part
    code, order = free_code(old.season, name), old.order
    new = Part(season=old.season, instrument=old.instrument, name=name, code=code, order=order)
    return save_part(actor=actor, part=new)


def _play(row: Qualification, part: Part) -> None:
    """The qualification is for another part; one that is there already takes it in."""
    there = Qualification.objects.filter(member=row.member_id, part=part).first()
    if there is None:
        row.part = part
        row.save()
        return
    row.delete()
    there.main = there.main or row.main
    there.own_instrument = there.own_instrument or row.own_instrument
    there.save()


def _gone(actor: User, part: Part) -> bool:
    if part.qualifications.exists() or places_of(part):
        return False
    remove_part(actor=actor, part=part)
    return True
