"""How far each new set of a spot is, as a picture."""

from __future__ import annotations

from bandops.lib.charts import Bar, Chart, Key, Row, Strip, axis_of, scale_for
from drill.field.core.field import UNITS_PER_STEP
from drill.field.core.spoken import Style
from drill.field.wording import steps_text
from drill.learning.services.studies import Study

WAYS = (Key("one", "the same way"), Key("two", "the opposite way"))


def far_chart(one: Study, style: Style) -> Chart | None:
    """A bar a new set in the order of the show, in steps from the nearest dot that is known; a
    set in which none is known has no bar. None where nothing is new."""
    if not one.order:
        return None
    in_order = sorted(one.order, key=lambda new: new.index)
    far = [None if new.distance is None else new.distance / UNITS_PER_STEP for new in in_order]
    scale = scale_for((steps for steps in far if steps is not None), least_high=8.0)
    rows = tuple(
        Row(
            f"Set {new.label}",
            Strip() if steps is None else Strip((Bar(0, scale.at(steps), _way(new.opposite)),)),
            "nothing near it yet" if new.distance is None else steps_text(new.distance, style),
        )
        for new, steps in zip(in_order, far, strict=True)
    )
    keys = WAYS if any(new.opposite for new in in_order) else ()
    axis = axis_of(scale, " steps")
    return Chart("How far each new set is", rows, axis, keys, head="Set", what="How far")


def _way(opposite: bool) -> str:
    return "two" if opposite else "one"
