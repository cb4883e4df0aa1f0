"""Tryouts, and whom they selected once it is posted. Whose number is whose, and marks, are not in
the API: staff who evaluate must not be able to ask it."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows, number_of
from roster.tryouts import queries
from roster.tryouts.enums import OfferKind, OfferState, TryoutState
from roster.tryouts.models import Offer, Tryout


class TryoutSerializer(serializers.ModelSerializer[Tryout]):
    """A tryout, and how far it is."""

    state = serializers.CharField(read_only=True, help_text=", ".join(TryoutState.values))

    class Meta:
        model = Tryout
        fields = ["id", "name", "state", "looks_wanted", "notes_at", "posts_at"]


class ResultSerializer(serializers.ModelSerializer[Offer]):
    """Somebody who was offered a spot or an alternate's place, and what became of it."""

    tryout = serializers.IntegerField(source="decision.tryout_id", read_only=True)
    name = serializers.CharField(source="candidate.person.name", read_only=True)
    part = serializers.CharField(source="part.name", read_only=True)
    kind = serializers.CharField(read_only=True, help_text=", ".join(OfferKind.values))
    state = serializers.CharField(read_only=True, help_text=", ".join(OfferState.values))

    class Meta:
        model = Offer
        fields = ["tryout", "name", "part", "kind", "standing", "state", "expires_at"]


class ResultFilter(Filter):
    """Of a tryout, by kind or state."""

    tryout = number_of("decision__tryout")

    class Meta:
        model = Offer
        fields = ["kind", "state"]


class Tryouts(Rows):
    """The season's tryouts."""

    scope, serializer_class = "tryouts:read", TryoutSerializer

    def rows(self) -> QuerySet[Tryout]:
        return queries.tryouts(self.viewer.this_season)


class Results(Rows):
    """What is posted, by name: offers of the decisions that count, but for people who opted out of
    lists and offers that were let go. Nothing tells the order of the numbers."""

    scope, serializer_class, filterset_class = "tryouts:read", ResultSerializer, ResultFilter

    def rows(self) -> QuerySet[Offer]:
        return queries.posted_offers(self.viewer.this_season, timezone.now())
