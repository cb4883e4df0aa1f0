"""The college field and the mark of what has no source, for the spoken form of a coordinate."""

from __future__ import annotations

from drill.field.core.field import FIELD_TYPES

COLLEGE = FIELD_TYPES["60 ft"]
NO_SOURCE = "common practice, no source"
