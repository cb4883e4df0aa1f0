"""The first run's next step, for pages of rooms before."""

from __future__ import annotations

from bandops.lib.steps import NEXT_STEP, Step
from drill.week.services import first_run
from roster.people.models import Season


@NEXT_STEP.join
def first_run_goes_on(season: Season) -> Step | None:
    return first_run(season)
