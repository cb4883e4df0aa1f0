"""Every page: accessible at both widths and in all lights, quiet console, no sideways scroll.

The pages come from the site's own list of addresses, so a new page is checked from its first day.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from django.core.management import call_command
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact
from drill import queries
from drill.models import (
    CalendarFeed,
    Contest,
    ContestCriterion,
    ContestRound,
    CustomField,
    DayChange,
    DrillSet,
    EvaluationSequence,
    RehearsalBlock,
    Show,
    ShowVersion,
    StepLimit,
    Turn,
)
from drill.services.calls import call_group
from drill.services.lineups import open_draft
from drill.services.publishing import publish_lineup
from drill.services.sequences import make_sequence
from roster.models import Holding, RoleGrant, Season
from tests.architecture.world import make_contest, make_file, make_rehearsal, make_turn
from tests.conftest import BACKEND
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Watched, Week
from tests.factories.cast import account_of

pytestmark = pytest.mark.django_db(transaction=True)
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
EVERYTHING = {"runOnly": {"type": "tag", "values": TAGS}}
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
OWN_BYTES = 50_000
CARD_BYTES = 30_000
AXE = Axe()


def names_in(patterns: Any) -> Iterator[tuple[str, set[str]]]:
    """Each named address of the site with the names of its arguments; the API's are no pages."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from names_in(pattern.url_patterns)
        elif isinstance(pattern, URLPattern) and re.match(
            "api-docs|(?!api-)", pattern.name or "api-"
        ):
            yield str(pattern.name), set(pattern.pattern.converters)


def arguments(week: Week) -> dict[str, dict[str, Any]]:
    """What the addresses of pages need; those that only take forms get anything."""
    band = week.band
    member, spot = band.members["Cai Ørnberg"].pk, band.spots["2-3"].pk
    rank, part = band.ranks["1"].pk, band.parts["trumpet"].pk
    feed, _ = CalendarFeed.objects.get_or_create(user=week.cast.director)
    more = rows_of_the_week(week)
    event, seat = {"pk": band.event.pk}, {"segment_pk": band.halftime.pk, "spot_pk": spot}
    of_event = (
        "week-of lineup proposal publish event event-edit event-copy must-travel travel card-of "
        "event-texts event-drill"
    )
    of_member = "member member-edit member-standing member-place member-emergency"
    by_kind: tuple[tuple[str, dict[str, Any]], ...] = (
        (of_event, event),
        ("seat", event | seat),
        ("revision revision-progress", {"pk": week.first.pk}),
        (f"{of_member} member-absences member-release", {"pk": member}),
        ("rank rank-edit spot-new", {"pk": rank}),
        ("segment", {"pk": band.halftime.pk}),
        ("show show-edit versions-compare versions places show-words", {"pk": week.show.pk}),
        ("set-sheet set-sheet-print", {"pk": week.show.pk, "spot_pk": spot}),
        ("set-sheets-of-rank", {"pk": week.show.pk, "rank_pk": rank}),
        ("relearn", event | {"spot_pk": spot, "member_pk": band.members["Jon Pell"].pk}),
        ("cut-show", event | {"show_pk": week.show.pk}),
        ("close-up", event | seat),
        ("version-checks sets motion", {"pk": more["version"]}),
        ("place-positions", {"pk": more["version"], "place_pk": more["place"]}),
        ("set set-positions", {"pk": more["set"]}),
        ("place-edit", {"pk": more["place"]}),
        ("step-limit", {"pk": more["limit"]}),
        ("fundamental fundamental-edit fundamental-passed", {"code": "box-to-the-rear"}),
        ("study-sheet-file", {"paper": "a4"}),
        ("sequence", {"pk": more["sequence"]}),
        ("sequence-file", {"pk": more["sequence"], "paper": "letter"}),
        ("custom-field", {"pk": more["field"]}),
        ("spot spot-covers", {"pk": spot}),
        ("instrument-edit", {"pk": band.parts["trumpet"].instrument_id}),
        ("part-edit", {"pk": part}),
        ("import-review", {"pk": week.upload.pk}),
        ("import-upload", {"kind_key": "members"}),
        ("export", {"name": "members", "form": "csv"}),
        ("file", {"pk": Artifact.objects.values_list("pk", flat=True)[0]}),
        ("code", {"code": week.first.code}),
        ("link", {"scope": "sign-in", "token": "no-such-token"}),
        ("calendar-feed", {"token": feed.token}),
        ("desk-of covers-of plan plan-progress lesson-add", event),
        ("turns-of", {"pk": more["turned"]}),
        ("desk-out", event | {"member_pk": member}),
        ("desk-change", {"pk": more["change"]}),
        ("slip", {"pk": week.second.pk, "member_pk": band.members["Ana Núñez"].pk}),
        ("block-new attendance practice call call-progress", {"pk": more["rehearsal"]}),
        ("call-of-rank", {"pk": more["rehearsal"], "rank_pk": rank}),
        ("block", {"pk": more["block"]}),
        ("call-file", {"pk": more["rehearsal"], "file_pk": more["call"]}),
        ("round round-edit", {"pk": more["round"]}),
        ("contest-marks", {"pk": more["contest"]}),
        ("contest-criterion", {"pk": more["criterion"]}),
        ("turn", {"pk": more["turn"]}),
    )
    return {name: values for names, values in by_kind for name in names.split()}


def rows_of_the_week(week: Week) -> dict[str, int]:
    """A change of the day, a rehearsal, a contest and a turn, made when first asked for."""
    band, actor = week.band, week.cast.director
    if not ContestRound.objects.exists():
        block = make_rehearsal(band, actor)
        make_file("call", call_group(block.event))
        make_contest(band, actor)
        make_turn(band, actor, "Long ago", 3)
        arena = CustomField.objects.create(
            season=band.season, name="Old arena", front_hash=20_000, back_hash=40_000
        )
        Show.objects.filter(pk=week.show.pk).update(field_type=arena.name)
        StepLimit.objects.create(
            season=band.season, instrument=band.parts["trumpet"].instrument, largest_step=960
        )
        make_sequence(
            actor=actor,
            season=band.season,
            label="First day",
            codes=["forward", "left-flank", "to-the-rear"],
            counts=32,
            square=16,
            groups=2,
            seed=7,
        )
        DayChange.objects.create(
            event=band.event, before=week.first, after=week.second, made_by=actor
        )
    contest = Contest.objects.earliest("pk")
    return {
        "change": DayChange.objects.earliest("pk").pk,
        "rehearsal": RehearsalBlock.objects.earliest("pk").event_id,
        "block": RehearsalBlock.objects.earliest("pk").pk,
        "call": Artifact.objects.get(filename="call.pdf").pk,
        "round": contest.round_id,
        "contest": contest.pk,
        "criterion": ContestCriterion.objects.earliest("pk").pk,
        "field": CustomField.objects.earliest("pk").pk,
        "version": ShowVersion.objects.filter(show=week.show).latest("order").pk,
        "set": DrillSet.objects.filter(version__show=week.show).latest("order").pk,
        "place": week.show.places.earliest("pk").pk,
        "limit": StepLimit.objects.earliest("pk").pk,
        "sequence": EvaluationSequence.objects.earliest("pk").pk,
        "turn": Turn.objects.earliest("pk").pk,
        "turned": Turn.objects.earliest("pk").segment.event_id,
    }


def paths(week: Week, user: User | None) -> list[str]:
    """Every page that the account gets; those not for it are refused, which others test."""
    client = Client()
    if user is not None:
        client.force_login(user, backend=BACKEND)
    known, found, unknown = arguments(week), [], []
    for name, needs in names_in(get_resolver().url_patterns):
        values = known.get(name, dict.fromkeys(needs, 1) | needs_text(needs))
        path = reverse(name, kwargs=values)
        response = client.get(path)
        if response.status_code == 404:
            unknown.append(name)
        is_page = response.get("Content-Type", "").startswith("text/html")
        if response.status_code == 200 and is_page and b"<html" in response.content:
            found.append(path)
    assert not unknown, f"say in `arguments` what these addresses need: {unknown}"
    return found


def needs_text(needs: set[str]) -> dict[str, str]:
    """Something for the arguments that are no numbers."""
    return dict.fromkeys(needs & {"kind", "kind_key", "scope", "token", "name", "form"}, "x")


def more_paths(week: Week, role: str) -> list[str]:
    """Pages that show something else with a question."""
    if role != "director":
        return []
    lineup = reverse("lineup", args=[week.band.event.pk])
    return [
        f"{lineup}?view=field&segment={week.band.halftime.pk}",
        f"{reverse('people')}?q=nunes",
        f"{reverse('show', args=[week.show.pk])}?set=2",
        reverse("revision", args=[week.second.pk]),
        reverse("import-upload", args=["coordinates"]),
    ]


def complaints(watched: Watched, where: str, options: dict[str, Any]) -> list[str]:
    """axe's violations on what the browser shows, one line each."""
    found = AXE.run(watched.page, options=options).response["violations"]
    return [
        f"{where}: {v['id']}: {node['target']} {node['html'][:160]}"
        for v in found
        for node in v["nodes"][:3]
    ]


def look(watched: Watched, path: str) -> list[str]:
    """Everything wrong with one page: axe in light, its colours in dark and in the sun."""
    page = watched.page
    page.emulate_media(color_scheme="light")
    watched.go(path)
    wrong = complaints(watched, path, EVERYTHING)
    own = watched.own_bytes()
    if own > OWN_BYTES:
        wrong.append(f"{path}: {own} bytes of our own style, script and letters")
    sideways = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    if sideways > 0:
        wrong.append(f"{path}: {sideways} px too wide")
    page.emulate_media(color_scheme="dark")
    wrong += complaints(watched, f"{path} (dark)", COLOURS)
    page.evaluate("document.documentElement.dataset.light = 'sun'")
    wrong += complaints(watched, f"{path} (sun)", COLOURS)
    return wrong


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("role", ["director", "leader", "member", "gear", "outsider", "visitor"])
def test_every_page_is_accessible_quiet_and_fits(
    role: str, width: int, week: Week, open_page: OpenPage
) -> None:
    user = week.cast.named(role)
    watched = open_page(user, width)
    wrong = []
    for path in paths(week, user) + more_paths(week, role):
        wrong += look(watched, path)
    wrong += watched.wrong
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_what_pages_show_after_a_click_is_accessible_too(
    width: int, week: Week, open_page: OpenPage
) -> None:
    watched = open_page(week.cast.director, width)
    page, wrong = watched.page, []
    watched.go(reverse("lineup", args=[week.band.event.pk]))
    page.locator(".cells a").filter(has_text="2-3").click()
    page.get_by_role("heading", name="2-3, Pregame").wait_for()
    wrong += complaints(watched, "a spot beside the lineup", EVERYTHING)
    watched.go(reverse("member", args=[week.band.members["Cai Ørnberg"].pk]))
    page.get_by_role("link", name="Show the emergency contact").click()
    page.get_by_text("None is recorded.").wait_for()
    wrong += complaints(watched, "an emergency contact", EVERYTHING)
    watched.go(reverse("absence-new"))
    page.locator("form.card").evaluate("form => { form.noValidate = true }")
    page.get_by_role("button", name="Save and see what follows").click()
    page.get_by_text("Please mend this first:").wait_for()
    wrong += complaints(watched, "a form with errors", EVERYTHING)
    for summary in page.locator("summary").all():
        summary.click()
    assert not wrong + watched.wrong, "\n".join(wrong + watched.wrong)


@pytest.mark.parametrize(("path", "status"), [("/no/such/page/", 404), ("/people/", 403)])
def test_the_pages_of_a_refusal_are_accessible(
    path: str, status: int, week: Week, open_page: OpenPage
) -> None:
    watched = open_page(week.cast.member, PHONE)
    watched.expected_status = status
    wrong = look(watched, path) + watched.wrong
    assert not wrong, "\n".join(wrong)


def test_the_card_of_a_big_band_is_small(open_page: OpenPage, transactional_db: None) -> None:
    """The demo band's shows have hundreds of places; phones load them on a stadium's network."""
    call_command("load_demo", stdout=StringIO())
    season = Season.objects.get()
    director = RoleGrant.objects.filter(season=season, role="director").first()
    event = queries.next_event(season)
    assert director is not None and event is not None
    draft = open_draft(actor=director.user, event=event)
    publish_lineup(actor=director.user, event=event, seen_version=draft.version, seen_number=None)
    holding = Holding.objects.select_related("member__person").filter(ends=None).first()
    assert holding is not None
    watched = open_page(account_of(holding.member), PHONE)
    wrong = look(watched, "/card/")
    assert not wrong, "\n".join(wrong)
    watched.page.locator("svg.field-picture").first.wait_for()
    page_bytes = len(watched.page.request.get(watched.base + "/card/").body())
    assert page_bytes < CARD_BYTES
    assert watched.own_bytes() < OWN_BYTES
