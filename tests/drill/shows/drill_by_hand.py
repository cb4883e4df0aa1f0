"""A version of the small band's show, written by hand."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.models import Lineup
from drill.shows.models import Show, ShowVersion
from tests.architecture.many import add_drill
from tests.factories import Band, Cast

STEP = UNITS_PER_STEP


@pytest.fixture
def version(band: Band, db: None) -> ShowVersion:
    show = Show.objects.create(season=band.season, name="Paper Kites")
    return add_drill(show, ["1-1", "1-2", "1-10"], sets=3)


@pytest.fixture
def client(signed_in: Any, cast: Cast) -> Client:
    made: Client = signed_in(cast.staff)
    return made


def publish_for(band: Band, version: ShowVersion) -> None:
    versions = {str(version.show_id): version.pk}
    Lineup.objects.create(event=band.event, state="published", number=1, show_versions=versions)


def sent(client: Client, url: str, **typed: str) -> Any:
    """Post a page of positions as it stands, with what was typed."""
    form = client.get(url).context["form"]
    data = {name: str(form[name].value() or "") for name in form.fields}
    return client.post(url, data | typed)
