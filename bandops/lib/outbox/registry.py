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


GivenUp = Callable[[dict[str, Any]], None]

_given_up: dict[str, GivenUp] = {}


def gives_up(kind: str) -> Callable[[GivenUp], GivenUp]:
    """Register what is written when a kind of job has failed too often."""

    def register(write: GivenUp) -> GivenUp:
        _given_up[kind] = write
        return write

    return register


def give_up(kind: str, payload: dict[str, Any]) -> None:
    """Write that a job is not tried again, where its kind has something to write."""
    if kind in _given_up:
        _given_up[kind](payload)
