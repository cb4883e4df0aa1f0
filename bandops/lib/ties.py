"""How a later room adds to an earlier one, which knows only that somebody may."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Generic, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
K = TypeVar("K")
V = TypeVar("V")


class Tie(Generic[P, R]):
    """A question that an earlier room asks, or something it tells; later rooms join with
    functions (in their ``joins`` module, in the order of their names)."""

    def __init__(self) -> None:
        self.joined: list[Callable[P, R]] = []

    def join(self, function: Callable[P, R]) -> Callable[P, R]:
        """Have the function asked too; a decorator."""
        self.joined.append(function)
        return function

    def ask(self, *args: P.args, **kwargs: P.kwargs) -> list[R]:
        """What each of them answers."""
        return [function(*args, **kwargs) for function in self.joined]


def merged(answers: Iterable[Mapping[K, V]]) -> dict[K, V]:
    """All answers as one; a later one wins."""
    found: dict[K, V] = {}
    for answer in answers:
        found |= answer
    return found
