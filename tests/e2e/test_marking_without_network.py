"""An evaluator's tablet loses the network for ten groups while the server restarts: all is kept."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from roster.tryouts.models import Mark, MarkChange, TryoutGroup
from roster.tryouts.services.marking import own_groups
from roster.tryouts.services.planning import Grouping, make_groups, propose_panels
from tests.e2e.conftest import OpenPage, Watched, Week
from tests.e2e.test_no_network import cut, wait_until_kept
from tests.e2e.test_servers_in_trouble import Gateway, gateway
from tests.factories import TryoutWorld, make_tryout

__all__ = ["gateway"]
pytestmark = pytest.mark.django_db(transaction=True)
TABLET = {"width": 820, "height": 1180}
GROUPS = 10


@pytest.fixture
def world(week: Week) -> TryoutWorld:
    """Groups of one candidate, so that one evaluator has more than ten."""
    made = make_tryout(week.band, week.cast.staff)
    for session in made.sessions:
        make_groups(actor=week.cast.staff, session=session, grouping=Grouping(1, 1, 10))
    propose_panels(actor=week.cast.staff, tryout=made.tryout)
    return made


@pytest.fixture
def groups(world: TryoutWorld) -> list[TryoutGroup]:
    """The evaluator's first ten."""
    found = [own.group for own in own_groups(world.panelists[0])]
    assert len(found) >= GROUPS
    return found[:GROUPS]


@pytest.fixture
def tablet(open_page: OpenPage, week: Week, groups: list[TryoutGroup]) -> Iterator[Watched]:
    """At the list of groups, which keeps the pages of all groups."""
    opened = open_page(week.cast.evaluator, viewport=TABLET, service_workers="allow")
    page = opened.go(reverse("marking"))
    for group in groups:
        wait_until_kept(page, reverse("group-looks", args=[group.pk]))
    yield opened


def mark(page: Page, world: TryoutWorld, base: str, group: TryoutGroup, value: int) -> None:
    """One candidate, every criterion; the last one is not seen."""
    page.goto(base + reverse("group-looks", args=[group.pk]))
    names = [c.name for c in world.criteria]
    for name in names[:-1]:
        form = page.get_by_role("group", name=name)
        button = form.locator(f"button[value='{value}']")
        button.click()
        expect(button).to_have_text(f"✓ {value}")
    page.get_by_role("group", name=names[-1]).get_by_role("button", name="not seen").click()


def said(group: TryoutGroup) -> list[Decimal | None]:
    who = group.places.get().candidate
    rows = Mark.objects.filter(candidate=who, session=group.session, panelist__code="A")
    return list(rows.order_by("criterion__order").values_list("value", flat=True))


def test_ten_groups_without_network_and_a_server_that_restarts(
    tablet: Watched, world: TryoutWorld, groups: list[TryoutGroup], gateway: Gateway
) -> None:
    page = tablet.page
    cut(tablet)
    for n, group in enumerate(groups[:5]):
        mark(page, world, tablet.base, group, n + 1)
        waiting = page.get_by_text(f"{3 * (n + 1)} changes wait on this phone for a network")
        expect(waiting).to_be_visible()
    assert not Mark.objects.exists()
    # The network is back, the server is not: a gateway answers in its place.
    gateway.status, gateway.method = 503, "POST"
    page.context.set_offline(False)
    for n, group in enumerate(groups[5:], 5):
        mark(page, world, tablet.base, group, n + 1)
    expect(page.get_by_text("30 changes wait on this phone")).to_be_visible()
    assert gateway.lost and not Mark.objects.exists()
    gateway.status = 0
    page.goto(tablet.base + reverse("marking"))
    expect(page.get_by_text("wait on this phone")).to_be_hidden(timeout=60_000)
    assert [said(group) for group in groups] == [[n, n, None] for n in range(1, 11)]
    assert Mark.objects.count() == 30 and not MarkChange.objects.exists(), "none twice"
    expect(page.get_by_text("1 of 1 marked")).to_have_count(GROUPS)


def test_a_mark_that_was_changed_while_it_waited_is_what_was_tapped_last(
    tablet: Watched, world: TryoutWorld, groups: list[TryoutGroup]
) -> None:
    page, group = tablet.page, groups[0]
    cut(tablet)
    mark(page, world, tablet.base, group, 4)
    mark(page, world, tablet.base, group, 9)
    page.context.set_offline(False)
    expect(page.get_by_text("wait on this phone")).to_be_hidden(timeout=60_000)
    page.goto(tablet.base + reverse("group-looks", args=[group.pk]))
    for criterion in world.criteria[:-1]:
        form = page.get_by_role("group", name=criterion.name)
        expect(form.locator("[aria-pressed=true]")).to_have_text("✓ 9")
