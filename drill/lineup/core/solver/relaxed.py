"""What a change to a problem lets into its model."""

from __future__ import annotations

from dataclasses import dataclass, field

from drill.lineup.core.lessons import Ints, no_ints


@dataclass(frozen=True)
class Relaxed:
    """What a change lets in: arcs, and rows whose limit grows by one."""

    arcs: Ints = field(default_factory=no_ints)
    rows: Ints = field(default_factory=no_ints)
