"""What rooms do every minute."""

from __future__ import annotations

from bandops.lib.ties import Tie

EACH_MINUTE: Tie[[], object] = Tie()
"""done with every sweep; quick where there is nothing to do"""
