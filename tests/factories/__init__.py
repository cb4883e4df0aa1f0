"""A small invented band for the tests: two ranks, two shows, one cast of accounts."""

from tests.factories.band import Band, make_band
from tests.factories.cast import Cast, make_cast

__all__ = ["Band", "Cast", "make_band", "make_cast"]
