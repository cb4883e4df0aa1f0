"""What the test client answers with, and its text."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeAlias

from tests.reading import without_tokens

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse

Response: TypeAlias = "_MonkeyPatchedWSGIResponse"
"""the stubs' own name for it; at run time it is the view's answer with a few attributes more"""


def text(response: Response) -> str:
    """The page as a person sees it: a figure that must not be there is no moment and no token."""
    return without_tokens(without_times(response.content.decode()))


def without_times(page: str) -> str:
    """The page with the words of its times alone."""
    return re.sub(r"</?time\b[^>]*>", "", page)
