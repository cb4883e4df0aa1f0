"""The import of absences."""

from drill.absences.imports import absences

__all__ = ["absences"]
