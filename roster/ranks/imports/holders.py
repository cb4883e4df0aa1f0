"""Whom a cell of the import of ranks names, and what stands beside the name."""

from __future__ import annotations

from collections.abc import Callable, Collection

from bandops.lib.imports.words import Choice, Known, UnknownWord, word_key
from bandops.lib.names import plain
from roster.people.lookup import MemberIndex
from roster.people.models import Member
from roster.ranks.imports.holder_cells import (
    HolderCell,
    asides,
    read_holder,
    without_asides,
)

NOBODY = Choice("nobody", "nobody: leave the spot open")
"""what a name may mean that is no member's"""


class HolderReader:
    """Finds members by the names in cells; ``known`` says what names mean that nobody has, and
    ``players`` who plays what stands in brackets beside a name."""

    def __init__(
        self, members: MemberIndex, known: Known, players: Callable[[str], Collection[int]]
    ) -> None:
        self.members, self.known, self.players = members, known, players

    def cell(self, text: str) -> HolderCell:
        """What a cell says; one whose name means nobody is an open spot."""
        cell = read_holder(text)
        nobody = bool(cell.name) and self.known.get(word_key(cell.name)) == NOBODY.value
        return HolderCell("", open=True) if nobody else cell

    def find(self, name: str) -> Member:
        """The member of a name, also where something else stands beside it in brackets; an
        UnknownWord offers that it is nobody."""
        bare = without_asides(name)
        try:
            return self.members.find(name)
        except UnknownWord as unknown:
            if bare in ("", name):
                raise _with_nobody(unknown) from None
        try:
            return self.members.find(bare)
        except UnknownWord as unknown:
            raise _with_nobody(self._by_part(name, unknown)) from None

    def _by_part(self, name: str, word: UnknownWord) -> UnknownWord:
        """Of several who may be meant the one who plays what stands beside the name: a word of
        its own."""
        players = {pk for text in asides(name) for pk in self.players(text)}
        fitting = [choice for choice in word.choices if int(choice.value) in players]
        if not players:
            return word
        choices = [*fitting, *(choice for choice in word.choices if choice not in fitting)]
        preset = fitting[0].value if len(fitting) == 1 else ""
        return UnknownWord(word.kind, name, str(word), choices, preset)

    def not_read(self, name: str, member: Member) -> list[str]:
        """What stands in brackets beside a member and is no name of theirs."""
        names = set(plain(f"{member.person.legal_name} {member.person.used_name}").split())
        return [
            text
            for text in asides(name)
            if not set(plain(text).split()) & names and member.pk not in self.players(text)
        ]


def _with_nobody(word: UnknownWord) -> UnknownWord:
    choices = (*word.choices, NOBODY)
    return UnknownWord(word.kind, word.text, str(word), choices, word.preset)
