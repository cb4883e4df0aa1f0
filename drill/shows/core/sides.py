"""Which way the sides of the field lie from the edges of a picture."""

from __future__ import annotations


def side_words(left: int, right: int, first: int, last: int) -> tuple[str, str]:
    """The words at the left and the right edge of a picture that shows ``left`` to ``right``.

    ``first`` and ``last`` are the field's ends, side 1 at the left of whoever looks. A picture of
    the whole field names the sides. One of a part points to where more of a side lies beyond the
    edge, and says nothing where that side ends within the picture.
    """
    if left <= first and right >= last:
        return "side 1", "side 2"
    return "← side 1" if left > first else "", "side 2 →" if right < last else ""
