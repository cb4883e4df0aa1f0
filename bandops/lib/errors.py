"""Refusals: what a service says instead of doing something wrong."""

from __future__ import annotations


class Refused(Exception):
    """The request breaks a rule; the message is for the person who asked."""

    def __init__(self, message: str, details: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.details = details


class NotHere(Refused):
    """This machine lacks what the work needs; nothing is wrong with the request."""


class Overtaken(Refused):
    """Somebody else changed the same thing meanwhile; ``details`` says what."""
