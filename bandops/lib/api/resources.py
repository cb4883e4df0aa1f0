"""Lists and single rows, as every resource answers them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any, ClassVar, NoReturn

from django.db.models import Model, QuerySet
from django.forms import BaseForm, IntegerField
from django.http import Http404
from django_filters import FilterSet, NumberFilter
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.mixins import ListModelMixin
from rest_framework.pagination import PageNumberPagination
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from bandops.lib.accounts.models import User
from bandops.lib.accounts.viewer import Viewer
from bandops.lib.api.access import MayAsk, viewer_of
from bandops.lib.web.rules import staff


class Filter(FilterSet):  # type: ignore[misc]
    """By what a list is narrowed: each field is a parameter of its address."""


class WholeNumber(NumberFilter):  # type: ignore[misc]
    """No part of one is any row's."""

    field_class = IntegerField


def number_of(field_name: str) -> NumberFilter:
    """By the number of a row that is not the list's own; no database has one as large."""
    return WholeNumber(field_name=field_name, min_value=0, max_value=2**31)


class Pages(PageNumberPagination):
    """A list is an array; what else there is to say is in headers (RFC 8288): the next pages, and
    ``Total-Count``."""

    page_size, max_page_size = 100, 500
    page_size_query_param = "page_size"

    def get_paginated_response(self, data: Any) -> Response:
        links = {"next": self.get_next_link(), "prev": self.get_previous_link()}
        said = ", ".join(f'<{url}>; rel="{name}"' for name, url in links.items() if url)
        assert self.page is not None
        headers = {"Total-Count": str(self.page.paginator.count)} | ({"Link": said} if said else {})
        return Response(data, headers=headers)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        return schema


class PrivateView(APIView):
    """Its answers are for one account: nothing on the way keeps them. ``may`` says who asks,
    ``scope`` which scopes a token needs, for reading and for writing."""

    scope: ClassVar[str] = ""
    write_scope: ClassVar[str] = ""
    permission_classes = [MayAsk]

    def may(self, viewer: Viewer) -> bool:
        """Whether the viewer may ask: staff, where a resource does not say otherwise."""
        return staff(viewer)

    def scope_for(self, method: str | None) -> str:
        """The scope that a token needs."""
        reads = method in ("GET", "HEAD", "OPTIONS")
        return self.scope if reads else self.write_scope or self.scope

    @property
    def viewer(self) -> Viewer:
        return viewer_of(self.request)

    @property
    def actor(self) -> User:
        return self.viewer.signed_in

    def finalize_response(
        self, request: Request, response: Any, *args: Any, **kwargs: Any
    ) -> Response:
        """Adds what a program compares to see whether anything changed; the same is not sent
        twice."""
        made: Response = super().finalize_response(request, response, *args, **kwargs)
        made["Cache-Control"] = "private, no-store"
        if made.status_code == 200 and request.method in ("GET", "HEAD"):
            made["ETag"] = etag_of(made.data)
            if made["ETag"] in request.headers.get("If-None-Match", ""):
                made.data, made.status_code = None, 304
        return made


def etag_of(data: Any) -> str:
    """A strong tag of what an answer says (RFC 9110, 8.8.3)."""
    return f'"{hashlib.sha256(JSONRenderer().render(data)).hexdigest()[:32]}"'


def _described(view: GenericAPIView[Any]) -> QuerySet[Any] | None:
    """Whose rows they are, where only the description is made and nobody asks."""
    if not getattr(view, "swagger_fake_view", False):
        return None
    serializer: Any = view.serializer_class
    none: QuerySet[Any] = serializer.Meta.model._base_manager.none()
    return none


class Rows(PrivateView, ListModelMixin, GenericAPIView[Any]):
    """A list of rows: filtered, in pages."""

    pagination_class = Pages
    filter_backends = [DjangoFilterBackend]
    filterset_class: type[Filter] | None = None

    def rows(self) -> QuerySet[Any]:
        """Those of the current season, in a fixed order, with what the serializer reads."""
        raise NotImplementedError

    def get_queryset(self) -> QuerySet[Any]:
        described = _described(self)
        return self.rows() if described is None else described

    def get(self, request: Request) -> Response:
        return self.list(request)


class Row(PrivateView, GenericAPIView[Any]):
    """One row, by its number."""

    filter_backends: list[Any] = []

    def rows(self) -> QuerySet[Any]:
        raise NotImplementedError

    def get_queryset(self) -> QuerySet[Any]:
        described = _described(self)
        return self.rows() if described is None else described

    def row(self, pk: int) -> Any:
        """The row; 404 for none, and for one of another season."""
        found: Model | None = self.rows().filter(pk=pk).first() if pk < 2**63 else None
        if found is None:
            raise Http404
        return found

    def locked(self, pk: int) -> Any:
        """The row, which nobody else changes until the transaction is over."""
        row = self.row(pk)
        type(row)._base_manager.select_for_update().get(pk=pk)
        return self.row(pk)

    def said(self, row: Any) -> Any:
        """What is answered of a row."""
        return self.get_serializer(row).data

    def get(self, request: Request, pk: int) -> Response:
        return Response(self.said(self.row(pk)))


def read(serializer: type[serializers.Serializer[Any]], request: Request) -> Mapping[str, Any]:
    """The checked body of a request."""
    form = serializer(data=request.data)
    form.is_valid(raise_exception=True)
    found: Mapping[str, Any] = form.validated_data
    return found


def refuse_form(form: BaseForm) -> NoReturn:
    """The faults of a page's form, which checks what a program sends, too."""
    faults = {name: [str(text) for text in texts] for name, texts in form.errors.items()}
    faults["non_field_errors"] = faults.pop("__all__", [])
    raise serializers.ValidationError({name: texts for name, texts in faults.items() if texts})
