"""Every whole number that people give has bounds, on any database and by any way in."""

from __future__ import annotations

from typing import Any

import pytest
from django.apps import apps
from django.core.validators import MaxValueValidator
from django.db import IntegrityError, models, transaction
from django.urls import reverse

from drill.challenges.models import ChallengeCriterion
from drill.events.models import Event
from drill.rehearsals.models import Practice
from drill.shows.models import DrillSet, Show, ShowVersion
from roster.people.models import Instrument, Member, Part
from roster.ranks.models import Rank, Spot
from tests.architecture.world import client_of
from tests.factories import Band, Cast

COUNTED = {
    ("Lineup", "number"),
    ("Lineup", "version"),
    ("LineupRow", "changed_in"),
    ("Segment", "order"),
    ("ShowVersion", "order"),
    ("DrillSet", "order"),
}
"""what the program counts by itself"""
PLACED = {("Position", "x"), ("Position", "y")}
"""what is read from words and steps, far within ``entering.FARTHEST``"""
HUGE = 99_999_999_999


def whole_numbers() -> list[tuple[type[models.Model], models.Field[Any, Any]]]:
    return [
        (model, field)
        for app in apps.get_app_configs()
        if app.name.split(".")[0] in ("roster", "drill")
        for model in app.get_models()
        for field in model._meta.concrete_fields
        if isinstance(field, models.IntegerField) and not field.primary_key
    ]


def test_every_whole_number_has_its_bound() -> None:
    found = {(model.__name__, field.name): (model, field) for model, field in whole_numbers()}
    assert set(found) > COUNTED | PLACED and len(found) > 25
    for key in set(found) - COUNTED - PLACED:
        model, field = found[key]
        assert [v for v in field.validators if isinstance(v, MaxValueValidator)], key
        checks = [c for c in model._meta.constraints if isinstance(c, models.CheckConstraint)]
        if model._meta.constraints:
            conditions = " ".join(str(check.condition) for check in checks)
            assert f"('{field.name}__lt" in conditions, key


def show_set(band: Band) -> DrillSet:
    version = ShowVersion.objects.create(show=Show.objects.get(), label="1", order=1)
    return DrillSet.objects.create(version=version, order=1, label="1", counts=16)


@pytest.mark.postgres("check constraints")
@pytest.mark.django_db
def test_no_way_into_the_database_passes_a_bound(band: Band) -> None:
    show_set(band)
    ChallengeCriterion.objects.create(season=band.season, name="Music")
    Practice.objects.create(
        member=band.members["Ida Voss"],
        spot=band.spots["1-1"],
        show=Show.objects.get(),
        sets=3,
    )
    bounds: list[tuple[type[models.Model], str, int]] = [
        (Event, "travel_limit", 10_000),
        (DrillSet, "counts", 2_000),
        (ChallengeCriterion, "top", 1_000),
        (ChallengeCriterion, "weight", 1_000),
        (ChallengeCriterion, "order", 10_000),
        (Practice, "sets", 10_000),
        (Instrument, "school_stock", 10_000),
        (Instrument, "order", 10_000),
        (Part, "order", 10_000),
        (Rank, "order", 10_000),
        (Member, "years_marched", 20),
    ]
    for model, field, most in bounds:
        rows = model._default_manager
        assert rows.update(**{field: most})
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**{field: most + 1})
    with pytest.raises(IntegrityError), transaction.atomic():
        Spot.objects.filter(pk=band.spots["1-1"].pk).update(number=10_001)


@pytest.mark.postgres("numbers too large for a column")
@pytest.mark.django_db
def test_forms_say_a_bound_at_its_field(band: Band, cast: Cast) -> None:
    staff, director = client_of(cast, "staff"), client_of(cast, "director")
    drill_set = show_set(band)
    event: dict[str, object] = {
        "name": "Away",
        "kind": "game",
        "date": "2099-10-17",
        "time_zone": "America/Chicago",
    }
    event |= {"field_type": band.event.field_type, "travel_limit": HUGE}
    criterion = {"name": "Music", "top": HUGE, "weight": HUGE, "order": HUGE}
    instrument = {"name": "Oboe", "school_stock": HUGE, "order": HUGE}
    asked = [
        (staff, reverse("event-new"), event, {"travel_limit"}),
        (staff, reverse("challenge-criteria"), criterion, {"top", "weight", "order"}),
        (
            staff,
            reverse("set", args=[drill_set.pk]),
            {"label": "1", "counts": HUGE},
            {"counts"},
        ),
        (director, reverse("instrument-new"), instrument, {"school_stock", "order"}),
    ]
    for client, url, told, fields in asked:
        response = client.post(url, told)
        assert response.status_code == 200, url
        errors = response.context["form"].errors
        assert set(errors) == fields, url
        assert all("less than or equal to" in texts[0] for texts in errors.values()), url
        assert all(len(texts) == 1 for texts in errors.values()), url
