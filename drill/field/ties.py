"""Who is on a field, which later rooms know."""

from __future__ import annotations

from typing import Any

from bandops.lib.ties import Tie
from roster.people.models import Season

FIELD_USERS: Tie[[Season], dict[str, list[str]]] = Tie()
"""name of a field -> what is on it, in words"""
FIELD_RENAMED: Tie[[int, str, str], None] = Tie()
"""a season's field has another name: season id, old name, new name"""
FIELD_PAGE: Tie[[Season], dict[str, Any]] = Tie()
"""more to show on the page of the fields"""
