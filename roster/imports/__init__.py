"""Imports of the roster: instruments, members, ranks and spots, alternates."""

from roster.imports import alternates, instruments, members, ranks

__all__ = ["alternates", "instruments", "members", "ranks"]
