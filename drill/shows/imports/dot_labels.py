"""Dots by their labels: which a file means, and which are new to the band and to the show."""

from __future__ import annotations

from bandops.lib.labels import Words, nearest_labels
from bandops.lib.names import label_words
from drill.shows.models import Dot, Show
from roster.people.models import Season
from roster.ranks import queries as rank_queries

MOST_NEAR = 3


class DotLabels:
    """The labels of a season's spots and of its shows' dots, however a file writes them."""

    def __init__(self, season: Season) -> None:
        spots = [spot.label for spot in rank_queries.spots(season)]
        self.spots = {label_words(label): label for label in spots}
        self.dots: dict[int | None, dict[Words, str]] = {}

    def meant(self, show: Show, text: str) -> str:
        """The label of the show's dot or the band's spot that the text is another way to write;
        else the text itself, and from now on a dot of the show."""
        dots = self._dots(show)
        if text in dots.values():
            return text
        words = label_words(text)
        return dots.get(words) or self.spots.get(words) or dots.setdefault(words, text)

    def _dots(self, show: Show) -> dict[Words, str]:
        key = show.pk or -id(show)
        if key not in self.dots:
            self.dots[key] = self.stored(show)
        return self.dots[key]

    def stored(self, show: Show) -> dict[Words, str]:
        """The labels of the dots the show has."""
        labels = Dot.objects.filter(show=show).values_list("label", flat=True) if show.pk else ()
        return {label_words(label): label for label in labels}


def near(label: str, there: dict[Words, str]) -> list[str]:
    """Labels that are a slip away, the likeliest first."""
    labels = {other: words for words, other in there.items()}
    return nearest_labels(label_words(label), labels, MOST_NEAR)
