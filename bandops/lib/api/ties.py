"""What the API asks of rooms."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.accounts.viewer import Viewer
from bandops.lib.ties import Tie

VIEWER_OF: Tie[[User], Viewer] = Tie()
"""the account with its roles in the current season; one room makes viewers"""
