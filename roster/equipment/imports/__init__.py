"""Imports of kinds, items, measurements and what members have."""

from roster.equipment.imports import issues, items, kinds, measurements

__all__ = ["issues", "items", "kinds", "measurements"]
