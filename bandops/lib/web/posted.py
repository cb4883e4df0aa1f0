"""What a form sent: rows, keys and times, read with a clear refusal."""

from __future__ import annotations

import datetime
import uuid
from typing import TypeVar

from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from bandops.lib.dates import made_at
from bandops.lib.errors import Refused
from bandops.lib.web.forms import whole_number

Row = TypeVar("Row", bound=Model)


def posted_row(rows: QuerySet[Row], text: str, what: str) -> Row:
    """The row whose id a form sent; Refused when it sent none, or one that is gone."""
    number = whole_number(text)
    if number is None:
        raise Refused(f"Choose a {what}.")
    found = rows.filter(pk=number).first()
    if found is None:
        raise Refused(f"That {what} is gone: choose again.")
    return found


def posted_key(request: HttpRequest) -> uuid.UUID:
    """The form's own key, so that sending it twice does it once; a new one without."""
    try:
        return uuid.UUID(request.POST.get("key", ""))
    except ValueError:
        return uuid.uuid4()


def posted_time(request: HttpRequest) -> datetime.datetime:
    """When it was done on the phone: never later than now, whatever the phone's clock says."""
    return made_at(_moment(request, "noted_at"), _moment(request, "sent_at"), timezone.now())


def _moment(request: HttpRequest, name: str) -> datetime.datetime | None:
    try:
        return parse_datetime(request.POST.get(name, ""))
    except ValueError:
        return None
