"""Results through the API: whom the decision that counts selected, and not before it is posted."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from bandops.lib.api.tokens import make_token
from roster.people.models import Person
from roster.tryouts.models import Candidate, Offer, Tryout
from roster.tryouts.services.deciding import make_decision
from tests.factories import Cast, TryoutWorld
from tests.factories.tryout import decide, mark_all

pytestmark = pytest.mark.django_db
RESULTS = "/api/v1/results/"


@pytest.fixture
def program(cast: Cast) -> Client:
    _, text = make_token(actor=cast.staff, name="A program", scopes=["tryouts:read"], days=1)
    return Client(headers={"Authorization": f"Bearer {text}"})


def test_results_are_read_once_they_are_posted(
    world: TryoutWorld, cast: Cast, program: Client
) -> None:
    mark_all(world)
    assert program.get(RESULTS).json() == []
    decide(world, cast.director, cast.staff)
    found = program.get(f"{RESULTS}?tryout={world.tryout.pk}").json()
    offered = Offer.objects.exclude(kind="none").count()
    assert offered and len(found) == offered
    names = {c.person.name for c in Candidate.objects.select_related("person")}
    assert {one["name"] for one in found} <= names and {one["kind"] for one in found} >= {"spot"}
    assert not {"number", "candidate", "reason"} & set(found[0]), "nobody's number is told"
    make_decision(actor=cast.director, tryout=world.tryout, reason="Once more.")
    assert program.get(RESULTS).json() == found, "a version nobody signed does not count"
    later = timezone.now() + datetime.timedelta(hours=1)
    Tryout.objects.update(posts_at=later)
    assert program.get(RESULTS).json() == [], "not a second earlier"


def test_results_are_read_at_once(world: TryoutWorld, cast: Cast, program: Client) -> None:
    mark_all(world)
    decide(world, cast.director, cast.staff)
    counts = []
    program.get(RESULTS)  # notes that the token is used
    for size in (1, 500):
        with CaptureQueriesContext(connection) as asked:
            found = program.get(f"{RESULTS}?page_size={size}").json()
        counts.append((len(found), len(asked)))
    assert counts[1][0] > counts[0][0] == 1 and counts[1][1] == counts[0][1]


def test_whoever_opted_out_or_let_go_is_not_on_it(
    world: TryoutWorld, cast: Cast, program: Client
) -> None:
    """As on the list that is posted; and no order tells whose number was whose."""
    mark_all(world)
    decide(world, cast.director, cast.staff)
    first, second, third = Offer.objects.exclude(kind="none").order_by("pk")[:3]
    Person.objects.filter(pk=first.candidate.person_id).update(listed=False)
    Offer.objects.filter(pk=second.pk).update(state="declined")
    past = timezone.now() - datetime.timedelta(hours=1)
    Offer.objects.filter(pk=third.pk).update(expires_at=past)
    names = [one["name"] for one in program.get(RESULTS).json()]
    assert not {str(o.candidate.person.name) for o in (first, second, third)} & set(names)
    keys = [Person.objects.get(used_name="", legal_name=n).sort_key for n in names]
    assert keys == sorted(keys)


def test_a_tryout_says_how_far_it_is(world: TryoutWorld, program: Client) -> None:
    [told] = program.get("/api/v1/tryouts/").json()
    assert (told["name"], told["state"]) == (world.tryout.name, world.tryout.state)
