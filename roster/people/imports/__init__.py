"""Imports of people: instruments and parts, members."""

from roster.people.imports import instruments, members

__all__ = ["instruments", "members"]
