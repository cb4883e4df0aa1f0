"""What backups add to the season's set-up: the chance that somebody not reported is out."""

from __future__ import annotations

from typing import Any

from drill.backups.services.usual_chance import usual_chance
from drill.backups.wording import usual_chance_words
from roster.people.models import Season
from roster.people.ties import SET_UP_PAGE


@SET_UP_PAGE.join
def chance_of_being_out(season: Season) -> dict[str, Any]:
    """The figure and where it comes from."""
    return {"usual_out": usual_chance_words(usual_chance(season))}
