"""Kinds of jobs and the functions that do them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Store = Callable[[], None]
Handler = Callable[[dict[str, Any]], Store]

_handlers: dict[str, Handler] = {}


def handles(kind: str) -> Callable[[Handler], Handler]:
    """Register the handler of a kind of job.

    A handler does the slow work outside a transaction and returns a function that stores the
    result; that one runs in the transaction which marks the job done.
    """

    def register(handler: Handler) -> Handler:
        _handlers[kind] = handler
        return handler

    return register


def handler_of(kind: str) -> Handler:
    """The kind's handler; KeyError when no app registered one."""
    return _handlers[kind]
