"""Whose music is not passed: a risk beside the doubtful, which moves nobody by itself."""

from __future__ import annotations

from dataclasses import dataclass

from drill.lineup.services.problem_builder import Built
from roster.music.models import Excerpt
from roster.music.queries import not_passed
from roster.people.models import Member


@dataclass(frozen=True)
class Unpassed:
    """A member with what they were to pass by the day of the event."""

    member: Member
    excerpts: tuple[Excerpt, ...]


def music_not_passed(built: Built) -> list[Unpassed]:
    """Members of an event's problem who stay at home left out, by name."""
    open_ = not_passed(built.event.season, built.event.date)
    people = [m for name, m in built.members.items() if name not in built.at_home]
    found = [Unpassed(m, tuple(open_[m.pk])) for m in people if m.pk in open_]
    return sorted(found, key=lambda it: it.member.person.sort_key)
