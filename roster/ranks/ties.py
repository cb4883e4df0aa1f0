"""What goes by the labels of spots, which later rooms know."""

from __future__ import annotations

from bandops.lib.ties import Tie
from roster.people.models import Season

SPOTS_RELABELED: Tie[[Season, dict[int, tuple[str, str]]], None] = Tie()
"""spots have other labels: season, spot id -> label before and now"""
