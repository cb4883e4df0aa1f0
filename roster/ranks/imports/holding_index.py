"""Holdings of a season as an import finds them."""

from __future__ import annotations

import datetime

from bandops.lib.dates import day_words
from roster.people.models import Member, Season
from roster.ranks.models import AlternatePlace, Holding, Spot


class HoldingIndex:
    """Who holds and held the season's spots, and who is an alternate."""

    def __init__(self, season: Season) -> None:
        self.holdings = list(
            Holding.objects.filter(spot__rank__season=season).select_related(
                "spot__rank", "member__person"
            )
        )
        running = [h for h in self.holdings if h.ends is None]
        self.holders = {h.spot_id: h.member_id for h in running}
        self.held = {h.member_id: h.spot_id for h in running}
        self.spots = {h.spot_id for h in self.holdings}
        self.people = {h.member_id for h in self.holdings}
        places = AlternatePlace.objects.filter(rank__season=season).select_related("rank")
        self.alternates = {p.member_id: f"{p.rank}, standing {p.standing}" for p in places}

    def taken(self, spot: Spot | None, member: Member, on: datetime.date) -> str:
        """What stands in the way of a holding from a day: one that ends later."""
        for h in self.holdings:
            here = h.member_id == member.pk or (spot is not None and h.spot_id == spot.pk)
            if here and h.ends is not None and h.ends > on:
                return f"{h.member} holds {h.spot} until {day_words(h.ends)}."
        return ""
