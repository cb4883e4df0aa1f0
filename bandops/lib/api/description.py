"""What the OpenAPI description says otherwise than it would by itself."""

from __future__ import annotations

from typing import Any

LOCAL_TIME = r"^\d{2}:\d{2}(:\d{2}(\.\d+)?)?$"


def local_times(result: Any, **rest: Any) -> Any:
    """Times of day are the event's own, without an offset: JSON Schema's ``time`` has one."""
    if isinstance(result, dict):
        if result.get("format") == "time":
            del result["format"]
            result["pattern"] = LOCAL_TIME
        for value in result.values():
            local_times(value)
    elif isinstance(result, list):
        for value in result:
            local_times(value)
    return result
