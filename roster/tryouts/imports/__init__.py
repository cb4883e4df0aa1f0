"""Imports of tryouts: candidates, score sheets."""

from roster.tryouts.imports import candidates, scores

__all__ = ["candidates", "scores"]
