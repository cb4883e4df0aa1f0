"""What the test client answers with, and its text."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse

Response: TypeAlias = "_MonkeyPatchedWSGIResponse"
"""the stubs' own name for it; at run time it is the view's answer with a few attributes more"""


def text(response: Response) -> str:
    return response.content.decode()
