"""Imports of ranks: ranks and spots, alternates."""

from roster.ranks.imports import alternates, place_words, ranks

__all__ = ["alternates", "place_words", "ranks"]
