"""How rows are called in computations, which know no database."""

from __future__ import annotations


def key(pk: int) -> str:
    """A row's key: sorts like the number."""
    return f"{pk:07d}"
