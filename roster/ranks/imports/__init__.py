"""Imports of ranks: ranks and spots, alternates."""

from roster.ranks.imports import alternates, ranks

__all__ = ["alternates", "ranks"]
