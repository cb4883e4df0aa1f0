"""Uniforms and instruments: what there is, who has it, handing out and taking back."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django_filters import CharFilter
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.api.problems import ProblemDetailsSerializer
from bandops.lib.api.resources import Filter, Row, Rows, read
from bandops.lib.api.writing import ONCE, once
from roster.equipment import queries
from roster.equipment.enums import Condition
from roster.equipment.models import Item, Kind
from roster.equipment.rules import keeps_equipment
from roster.equipment.services.issuing import hand_out, take_back
from roster.equipment.wording import size_of
from roster.people.models import Member


class KindSerializer(serializers.ModelSerializer[Kind]):
    """A kind of item."""

    class Meta:
        model = Kind
        fields = ["id", "name", "use", "handed", "on_truck"]


class Kinds(Rows):
    """Kinds, in order."""

    scope, serializer_class = "equipment:read", KindSerializer

    def may(self, viewer: Viewer) -> bool:
        return keeps_equipment(viewer)

    def rows(self) -> QuerySet[Kind]:
        return queries.kinds()


class ItemSerializer(serializers.ModelSerializer[Item]):
    """One numbered thing; ``member`` has it, if anybody."""

    kind = serializers.CharField(source="kind.name", read_only=True)
    size = serializers.SerializerMethodField()
    member = serializers.SerializerMethodField()

    class Meta:
        model = Item
        fields = ["id", "tag", "kind", "size", "state", "condition", "left_handed", "member"]

    def get_size(self, item: Item) -> str:
        return size_of(item)

    def get_member(self, item: Item) -> int | None:
        out = item.out  # type: ignore[attr-defined]
        return out[0].member_id if out else None


class ItemFilter(Filter):
    """By tag, kind (its number) or state."""

    tag = CharFilter(lookup_expr="iexact")

    class Meta:
        model = Item
        fields = ["kind", "state"]


class Items(Rows):
    """Items, by tag."""

    scope = "equipment:read"
    serializer_class, filterset_class = ItemSerializer, ItemFilter

    def may(self, viewer: Viewer) -> bool:
        return keeps_equipment(viewer)

    def rows(self) -> QuerySet[Item]:
        return queries.items().order_by("tag_key", "pk")


class OneItem(Row):
    """An item."""

    scope, serializer_class = "equipment:read", ItemSerializer

    def may(self, viewer: Viewer) -> bool:
        return keeps_equipment(viewer)

    def rows(self) -> QuerySet[Item]:
        return queries.items()


CONDITIONS = ", ".join(f"{value} {word}" for value, word in Condition.choices)


class HandOutSerializer(serializers.Serializer[dict[str, Any]]):
    """To whom, and in which condition."""

    member = serializers.IntegerField(min_value=1, max_value=2**31)
    condition = serializers.ChoiceField(choices=Condition.choices, help_text=CONDITIONS)


class TakeBackSerializer(serializers.Serializer[dict[str, Any]]):
    """In which condition it came back."""

    condition = serializers.ChoiceField(choices=Condition.choices, help_text=CONDITIONS)


class HandOut(OneItem):
    """Handing out."""

    write_scope, http_method_names = "equipment:write", ["post"]

    @extend_schema(
        request=HandOutSerializer,
        parameters=[ONCE],
        responses={200: ItemSerializer, 409: ProblemDetailsSerializer},
    )
    def post(self, request: Request, pk: int) -> Response:
        """The member has it from now on."""
        item = self.row(pk)
        return once(request, self.actor, lambda: self._hand_out(request, item))

    def _hand_out(self, request: Request, item: Item) -> Response:
        data = read(HandOutSerializer, request)
        season = self.viewer.this_season
        member = Member.objects.filter(pk=data["member"], season=season).first()
        if member is None:
            raise Http404
        hand_out(actor=self.actor, item=item, member=member, condition=data["condition"])
        return Response(self.said(self.row(item.pk)))


class TakeBack(OneItem):
    """Taking back."""

    write_scope, http_method_names = "equipment:write", ["post"]

    @extend_schema(
        request=TakeBackSerializer,
        parameters=[ONCE],
        responses={200: ItemSerializer, 409: ProblemDetailsSerializer},
    )
    def post(self, request: Request, pk: int) -> Response:
        """It is in store again."""
        item = self.row(pk)
        return once(request, self.actor, lambda: self._take_back(request, item))

    def _take_back(self, request: Request, item: Item) -> Response:
        data = read(TakeBackSerializer, request)
        take_back(actor=self.actor, item=item, condition=data["condition"])
        return Response(self.said(self.row(item.pk)))
