"""How many random examples a test tries: enough on every run, more on a long one.

``make test LONG=yes`` is the long run. The everyday one always tries the same examples, so that
a failure is the change's and not chance's; the long one tries new ones each time.
"""

from __future__ import annotations

import os
from typing import Any

from hypothesis import settings

LONG = os.environ.get("LONG") == "yes"
EVERYDAY, NIGHTLY = "everyday", "long"

settings.register_profile(EVERYDAY, max_examples=100, deadline=None, derandomize=True)
settings.register_profile(NIGHTLY, max_examples=1000, deadline=None)


def load_profile() -> None:
    """Set what tests without a number of their own try."""
    settings.load_profile(NIGHTLY if LONG else EVERYDAY)


def examples(everyday: int, long: int, **more: Any) -> settings:
    """The settings of a test with numbers of its own, for the everyday run and the long one."""
    return settings(max_examples=long if LONG else everyday, deadline=None, **more)
