"""Results of unchanging rows, found again as long as the rows are the very same objects.

What-ifs change one field of a problem and leave the others as they are; comparing rows by value
would cost as much as reading them.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import TypeVar, TypeVarTuple

A = TypeVarTuple("A")
T = TypeVar("T")


def kept(most: int) -> Callable[[Callable[[*A], T]], Callable[[*A], T]]:
    """Keep the last ``most`` results of a function of immutable arguments."""

    def decorate(make: Callable[[*A], T]) -> Callable[[*A], T]:
        found: OrderedDict[tuple[int, ...], tuple[object, T]] = OrderedDict()
        lock = Lock()

        @wraps(make)
        def ask(*args: *A) -> T:
            key = tuple(map(id, args))
            with lock:
                if key in found:
                    found.move_to_end(key)
                    return found[key][1]
            made = make(*args)
            with lock:
                # The arguments are kept too, so that no other object takes their identity.
                found[key] = (args, made)
                while len(found) > most:
                    found.popitem(last=False)
            return made

        return ask

    return decorate
