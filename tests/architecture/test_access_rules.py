"""What a role may do within its pages: own rank, own reports, drafts, the cut-off."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.events.models import Event, Segment
from roster.people.enums import Role
from roster.people.models import RoleGrant
from tests.answers import text
from tests.architecture.world import (
    World,
    client_of,
    url_of,
)
from tests.factories import Cast

pytestmark = pytest.mark.django_db


def test_a_rank_leader_reports_only_their_own_rank(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    client, url = client_of(cast, "leader"), reverse("rank-report")
    data = {"kind": AbsenceKind.OUT, "event": world.event.pk}
    count = Absence.objects.count()
    for name in ("Hal Brook", "Kit Moss"):
        response = client.post(url, data | {"member": world.band.members[name].pk})
        assert response.status_code == 200, "the form comes back with an error"
        assert Absence.objects.count() == count
    for name in ("Dee Quill", "Ida Voss"):
        assert client.post(url, data | {"member": world.band.members[name].pk}).status_code == 302
    reported = Absence.objects.get(member=world.band.members["Dee Quill"])
    assert reported.state == AbsenceState.REPORTED


@pytest.mark.parametrize(
    "extra", [{"category": "health"}, {"chance": "0.2"}, {"review_date": "2099-10-01"}]
)
def test_what_is_for_staff_only_is_not_taken_from_others(
    worlds: tuple[World, World, Cast], extra: dict[str, str]
) -> None:
    world, _, cast = worlds
    data = {"kind": "out", "event": world.event.pk, "state": "confirmed"} | extra
    client_of(cast, "other").post(reverse("my-absences"), data)
    client_of(cast, "leader").post(
        reverse("rank-report"), data | {"member": world.band.members["Dee Quill"].pk}
    )
    for absence in Absence.objects.filter(member__season=world.band.season):
        assert (absence.category, absence.review_date, absence.chance) == ("", None, Decimal(1))
        assert absence.state == AbsenceState.REPORTED


def test_nobody_withdraws_what_another_reported(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    url = url_of("absence-withdraw", world)
    for role in ("other", "leader", "equipment", "evaluator", "outsider"):
        assert client_of(cast, role).post(url).status_code == 403, role
    world.absence.refresh_from_db()
    assert world.absence.state == AbsenceState.REPORTED
    assert client_of(cast, "member").post(url).status_code == 302
    world.absence.refresh_from_db()
    assert world.absence.state == AbsenceState.WITHDRAWN


def test_what_staff_decided_is_not_withdrawn_by_its_member(
    worlds: tuple[World, World, Cast],
) -> None:
    world, _, cast = worlds
    Absence.objects.filter(pk=world.absence.pk).update(state=AbsenceState.CONFIRMED)
    url = url_of("absence-withdraw", world)
    assert client_of(cast, "member").post(url).status_code == 302
    world.absence.refresh_from_db()
    assert world.absence.state == AbsenceState.CONFIRMED


def test_a_leader_of_no_rank_has_no_rank_page(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    rank = world.rank
    rank.leader = None
    rank.save()
    client = client_of(cast, "leader")
    assert client.get(reverse("my-rank")).status_code == 403
    assert client.get(reverse("rank-report")).status_code == 403


def test_drafts_are_for_staff(worlds: tuple[World, World, Cast]) -> None:
    """A member's card, a leader's page and the API show the revision, not the draft."""
    world, _, cast = worlds
    draft = world.event.lineups.get(state="draft")
    row = draft.rows.get(segment=world.segment, spot=world.spot)
    row.member, row.origin = world.band.members["Jon Pell"], "stands in"
    row.save()
    texts = [
        client_of(cast, "member").get(reverse("card")).content.decode(),
        client_of(cast, "member").get(url_of("api-lineup", world)).content.decode(),
    ]
    assert "1-3" in texts[0]
    assert "Jon Pell" not in "".join(texts)
    lines = client_of(cast, "leader").get(reverse("my-rank")).content.decode()
    assert "stands in for Cai" not in lines


def test_after_the_cut_off_only_the_director_changes_the_lineup(
    worlds: tuple[World, World, Cast],
) -> None:
    world, _, cast = worlds
    world.event.cut_off = "2020-01-01T00:00:00Z"
    world.event.save()
    staff = client_of(cast, "staff")
    draft = world.event.lineups.get(state="draft")
    members = world.band.members
    pair = {"first": members["Jon Pell"].pk, "second": world.member.pk}
    posts: dict[str, dict[str, object]] = {
        "place": {"version": draft.version, "member": world.band.members["Jon Pell"].pk},
        "swap-by-hand": {"version": draft.version, "scope": "event", **pair},
        "order": {"what": "open"},
        "lift-order": {},
        "proposal": {"version": draft.version},
        "publish": {"version": draft.version, "number": 1},
    }
    for name, data in posts.items():
        before = AuditEntry.objects.count()
        assert staff.post(url_of(name, world), data).status_code in (302, 403), name
        assert AuditEntry.objects.count() == before, name
    newest = world.event.lineups.filter(state="published").latest("number").pk
    assert staff.post(url_of("desk-swap", world), {"number": 1, **pair}).status_code == 302
    assert world.event.lineups.filter(state="published").latest("number").pk == newest, (
        "the director has been asked"
    )
    director = client_of(cast, "director")
    assert director.post(url_of("order", world), posts["order"]).status_code == 302
    assert AuditEntry.objects.count() > before


def test_looking_makes_no_draft_after_the_cut_off(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    empty = Event.objects.create(
        season=world.band.season,
        name="Long past",
        date="2099-09-09",
        time_zone="America/Chicago",
        cut_off="2020-01-01T00:00:00Z",
    )
    Segment.objects.create(
        event=empty, order=1, name="Pregame", kind="pregame", starts="10:00", ends="10:10"
    )
    for _ in range(2):
        response = client_of(cast, "staff").get(reverse("lineup", args=[empty.pk]), follow=True)
        assert response.status_code == 200
    assert not empty.lineups.exists()


def test_a_member_cannot_choose_another_card(worlds: tuple[World, World, Cast]) -> None:
    """The card's number is an event's: whatever is added, the card is one's own."""
    world, _, cast = worlds
    client = client_of(cast, "other")
    url = f"{reverse('card-of', args=[world.event.pk])}?member={world.member.pk}"
    page = text(client.get(url))
    assert "2-3" in page and "1-3" not in page


def test_roles_are_given_by_directors_only(worlds: tuple[World, World, Cast]) -> None:
    _, _, cast = worlds
    data = {"email": cast.staff.email, "name": "", "role": Role.DIRECTOR}
    assert client_of(cast, "staff").post(reverse("roles"), data).status_code == 403
    assert not RoleGrant.objects.filter(user=cast.staff, role=Role.DIRECTOR).exists()
