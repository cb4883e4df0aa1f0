"""A tryout to work on."""

from __future__ import annotations

import pytest

from tests.factories import Band, Cast, TryoutWorld, make_tryout


@pytest.fixture
def world(band: Band, cast: Cast) -> TryoutWorld:
    """Twelve candidates, four evaluators, no marks yet."""
    return make_tryout(band, cast.staff)
