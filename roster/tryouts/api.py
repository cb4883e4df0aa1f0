"""Tryouts, and whom they selected once it is posted. Whose number is whose, and marks, are not in
the API: staff who evaluate must not be able to ask it."""

from __future__ import annotations

from django.db.models import F, Max, Q, QuerySet
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
        fields = ["id", "tryout", "name", "part", "kind", "standing", "state"]


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
    """Offers of the decisions that count, of tryouts whose results are posted."""

    scope, serializer_class, filterset_class = "tryouts:read", ResultSerializer, ResultFilter

    def rows(self) -> QuerySet[Offer]:
        tryouts = Tryout.objects.filter(
            season=self.viewer.this_season, state=TryoutState.DECIDED, posts_at__lte=timezone.now()
        )
        offers = Offer.objects.filter(
            decision__tryout__in=tryouts, decision__second_at__isnull=False
        )
        signed = Q(decision__tryout__decisions__second_at__isnull=False)
        latest = Max("decision__tryout__decisions__version", filter=signed)
        offers = offers.exclude(kind=OfferKind.NONE).annotate(latest=latest)
        offers = offers.filter(decision__version=F("latest")).order_by("pk")
        return offers.select_related("decision", "candidate__person", "part")
