"""A small invented band for the tests: two ranks, two shows, one cast of accounts."""

from tests.factories.band import Band, make_band
from tests.factories.cast import Cast, make_cast
from tests.factories.tryout import TryoutWorld, decide, make_tryout, mark_all

__all__ = [
    "Band",
    "Cast",
    "TryoutWorld",
    "decide",
    "make_band",
    "make_cast",
    "make_tryout",
    "mark_all",
]
