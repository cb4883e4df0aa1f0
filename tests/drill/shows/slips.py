"""Files of coordinates with slips, and rows of one with totals."""

from __future__ import annotations

HEAD = "show,set,counts,total,dot,x,y\n"
BLOCKS = """Tidewheel
Dot 1-1
set,counts,side to side,front to back
1,0,-16,28
2,16,-8,28
3,8,-8,90
Total,30
Dot 1-2
set,counts,side to side,front to back
1,0,-12,28
2,16,sidewise 40,28
2,16,-6,28
3,8,-8,28
Dot 1-3
set,counts,side to side,front to back
1,0,-12,32
3,8,-8,28
"""
WIDE = """Tidewheel
dot,set 1 x,set 1 y,set 2 x,set 2 y,set 2 x,set 2 y,set 3 x,set 3 y
counts,0,,16,,16,,8,
total counts,0,,16,,16,,30,
1-1,-16,28,-8,28,-7,28,-8,90
1-2,-12,28,sidewise 40,28,,,-8,32
1-3,-8,28,-4,28,,,,
"""


def row(label: str, dot: str, *, counts: object = 0, total: object = "", x: object = 0) -> str:
    return f"Tidewheel,{label},{counts},{total},{dot},{x},28\n"
