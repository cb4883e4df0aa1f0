"""The pages of the site as a browser opens them, from the site's own list of addresses."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from bandops.lib.outbox.models import Artifact
from drill.calendars.models import CalendarFeed
from drill.calls.services import call_group
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeRound
from drill.events.models import Event
from drill.field.models import CustomField
from drill.fundamentals.models import Abbreviation, EvaluationSequence
from drill.fundamentals.services.sequences import make_sequence
from drill.gameday.models import DayChange
from drill.record.models import RecordEntry
from drill.rehearsals.models import RehearsalBlock
from drill.shows.models import DrillSet, Show, ShowVersion, StepLimit
from roster.music.models import Excerpt
from roster.tryouts.models import GroupEvaluator, Panelist
from tests.architecture.world import (
    client_of,
    make_challenge,
    make_earlier_event,
    make_file,
    make_record_entry,
    make_rehearsal,
    make_sheets_file,
)
from tests.architecture.world.equipment import equipment_addresses, make_equipment
from tests.architecture.world.tryouts import make_music, make_tryout_rows, tryout_addresses
from tests.e2e.conftest import Week

ByNames = tuple[tuple[str, dict[str, Any]], ...]


def names_in(patterns: Any) -> Iterator[tuple[str, list[str]]]:
    """Each named address of the site with the names of its arguments; the API's are no pages."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from names_in(pattern.url_patterns)
        elif isinstance(pattern, URLPattern) and re.match(
            "api-docs|api-tokens|(?!api-)", pattern.name or "api-"
        ):
            yield str(pattern.name), list(pattern.pattern.converters)


def arguments(week: Week) -> dict[str, dict[str, Any]]:
    """What the addresses of pages need; those that only take forms get anything."""
    more = rows_of_the_week(week)
    parts = (
        _of_the_week(week),
        _of_the_band(week),
        _of_shows(week, more),
        _of_the_rest(week, more),
    )
    found = {name: values for part in parts for names, values in part for name in names.split()}
    needs = dict(names_in(get_resolver().url_patterns))
    for name, values in tryout_addresses(week.band.season).items():
        found[name] = dict(zip(needs[name], values, strict=True))
    for name, values in equipment_addresses(week.band).items():
        if name in needs:
            found[name] = dict(zip(needs[name], values, strict=True))
    found["excerpt"] = {"pk": Excerpt.objects.earliest("pk").pk}
    return found


def _of_the_week(week: Week) -> ByNames:
    band = week.band
    event = {"pk": band.event.pk}
    seat = event | {"segment_pk": band.halftime.pk, "spot_pk": band.spots["2-3"].pk}
    member, ana = band.members["Cai Ørnberg"].pk, band.members["Ana Núñez"].pk
    learning = {"spot_pk": band.spots["2-3"].pk, "member_pk": band.members["Jon Pell"].pk}
    return (
        (
            "week-of lineup proposal publish event event-edit event-copy must-travel travel "
            "card-of event-texts event-drill desk-of desk-swap backups-of plan "
            "plan-progress lesson-add",
            event,
        ),
        ("seat close-up", seat),
        ("revision revision-progress", {"pk": week.first.pk}),
        ("segment", {"pk": band.halftime.pk}),
        ("event-again", {"pk": Event.objects.get(name="Seasons ago").pk}),
        ("relearn", event | learning),
        ("cut-show", event | {"show_pk": week.show.pk}),
        ("code", {"code": week.first.code}),
        ("file", {"pk": Artifact.objects.values_list("pk", flat=True)[0]}),
        ("desk-out", event | {"member_pk": member}),
        ("desk-open", event | {"spot_pk": band.spots["2-3"].pk}),
        ("slip", {"pk": week.second.pk, "member_pk": ana}),
    )


def _of_the_band(week: Week) -> ByNames:
    band = week.band
    feed, _ = CalendarFeed.objects.get_or_create(user=week.cast.director)
    return (
        (
            "member member-edit member-standing member-place member-emergency member-absences "
            "member-release",
            {"pk": band.members["Cai Ørnberg"].pk},
        ),
        (
            "people-merge",
            {
                "stays_pk": band.members["Jon Pell"].person_id,
                "goes_pk": band.members["Kit Moss"].person_id,
            },
        ),
        ("rank rank-edit spot-new", {"pk": band.ranks["1"].pk}),
        ("season-people season-current", {"pk": band.season.pk}),
        ("spot spot-backups", {"pk": band.spots["2-3"].pk}),
        ("instrument-edit", {"pk": band.parts["trumpet"].instrument_id}),
        ("part-edit part-split", {"pk": band.parts["trumpet"].pk}),
        ("import-review import-rest import-sheets", {"pk": week.upload.pk}),
        ("import-upload", {"kind_key": "members"}),
        ("export", {"name": "members", "form": "csv"}),
        ("link", {"scope": "sign-in", "token": "no-such-token"}),
        ("calendar-feed", {"token": feed.token}),
    )


def _of_shows(week: Week, more: dict[str, int]) -> ByNames:
    show = {"pk": week.show.pk}
    spot, rank = week.band.spots["2-3"].pk, week.band.ranks["1"].pk
    return (
        ("show show-edit versions-compare versions dots show-words", show),
        ("set-sheet set-sheet-print", show | {"spot_pk": spot}),
        ("set-sheets", show),
        ("set-sheets-of-rank", show | {"rank_pk": rank}),
        ("set-sheets-file", show | {"file_pk": more["sheets"]}),
        ("version-checks sets motion", {"pk": more["version"]}),
        ("dot-positions", {"pk": more["version"], "dot_pk": more["dot"]}),
        ("set set-positions", {"pk": more["set"]}),
        ("dot-edit", {"pk": more["dot"]}),
        ("step-limit", {"pk": more["limit"]}),
        ("fundamental fundamental-edit fundamental-passed", {"code": "to-the-rear"}),
        ("study-sheet-file", {"paper": "a4"}),
        ("abbreviation", {"pk": more["abbreviation"]}),
        ("sequence", {"pk": more["sequence"]}),
        ("sequence-file", {"pk": more["sequence"], "paper": "letter"}),
        ("custom-field", {"pk": more["field"]}),
    )


def _of_the_rest(week: Week, more: dict[str, int]) -> ByNames:
    rank = week.band.ranks["1"].pk
    return (
        ("record-of", {"pk": more["of_entry"]}),
        ("record-entry", {"pk": more["entry"]}),
        ("desk-change", {"pk": more["change"]}),
        ("block-new attendance practice call call-progress", {"pk": more["rehearsal"]}),
        ("call-of-rank", {"pk": more["rehearsal"], "rank_pk": rank}),
        ("block", {"pk": more["block"]}),
        ("call-file", {"pk": more["rehearsal"], "file_pk": more["call"]}),
        ("round round-edit", {"pk": more["round"]}),
        ("challenge-marks", {"pk": more["challenge"]}),
        ("challenge-criterion", {"pk": more["criterion"]}),
    )


def rows_of_the_week(week: Week) -> dict[str, int]:
    """A change of the day, a rehearsal, a challenge and a record entry, made when first asked
    for."""
    if not ChallengeRound.objects.exists():
        _make_rows(week)
    challenge = Challenge.objects.earliest("pk")
    return {
        "change": DayChange.objects.earliest("pk").pk,
        "rehearsal": RehearsalBlock.objects.earliest("pk").event_id,
        "block": RehearsalBlock.objects.earliest("pk").pk,
        "call": Artifact.objects.get(filename="call.pdf").pk,
        "sheets": Artifact.objects.get(filename="sheets.pdf").pk,
        "round": challenge.round_id,
        "challenge": challenge.pk,
        "criterion": ChallengeCriterion.objects.earliest("pk").pk,
        "field": CustomField.objects.earliest("pk").pk,
        "version": ShowVersion.objects.filter(show=week.show).latest("order").pk,
        "set": DrillSet.objects.filter(version__show=week.show).latest("order").pk,
        "dot": week.show.dots.earliest("pk").pk,
        "limit": StepLimit.objects.earliest("pk").pk,
        "sequence": EvaluationSequence.objects.earliest("pk").pk,
        "abbreviation": Abbreviation.objects.earliest("pk").pk,
        "entry": RecordEntry.objects.earliest("pk").pk,
        "of_entry": RecordEntry.objects.earliest("pk").segment.event_id,
    }


def _make_rows(week: Week) -> None:
    band, actor = week.band, week.cast.director
    block = make_rehearsal(band, actor)
    make_earlier_event(band)
    make_file("call", call_group(block.event))
    make_sheets_file(week.show, band.ranks["1"])
    make_challenge(band, actor)
    world = make_tryout_rows(band, actor)
    seat = Panelist.objects.create(tryout=world.tryout, user=actor, code="E")
    GroupEvaluator.objects.create(group=world.sessions[0].groups.earliest("pk"), panelist=seat)
    make_music(band, actor)
    make_equipment(band, actor)
    make_record_entry(band, actor, "Long ago", 3)
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
    Abbreviation.objects.create(season=band.season, word="Ob", said="ob", says="left oblique")
    DayChange.objects.create(event=band.event, before=week.first, after=week.second, made_by=actor)


def needs_text(needs: list[str]) -> dict[str, str]:
    """Something for the arguments that are no numbers."""
    return dict.fromkeys({*needs} & {"kind", "kind_key", "scope", "token", "name", "form"}, "x")


DIRECTORS_FILE = ("import-review", "import-rest", "import-sheets")
"""pages of a file under review, which are for whoever chose it"""


def pages(week: Week, role: str, part: int = 0, parts: int = 1) -> dict[str, str]:
    """Every page that the role gets, by its path; those not for it are refused, which others test.

    Of so many parts of all addresses one is looked at.
    """
    client = client_of(week.cast, role)
    known, found, unknown = arguments(week), {}, []
    for name, needs in list(names_in(get_resolver().url_patterns))[part::parts]:
        values = known.get(name, dict.fromkeys(needs, 1) | needs_text(needs))
        path = reverse(name, kwargs=values)
        response = client.get(path)
        if response.status_code == 404 and (role == "director" or name not in DIRECTORS_FILE):
            unknown.append(name)
        is_page = response.get("Content-Type", "").startswith("text/html")
        if response.status_code == 200 and is_page and b"<html" in response.content:
            found[path] = response.content.decode()
    assert not unknown, f"say in `arguments` what these addresses need: {unknown}"
    return found


def own_paths(week: Week, role: str) -> list[str]:
    """Two of a role's pages for its menu, and all that show it something which the director's
    page of the same address has not."""
    director = client_of(week.cast, "director")
    return [
        path
        for path, page in pages(week, role).items()
        if path in ("/me/", "/sign-in/")
        or built_of(page) - built_of(director.get(path).content.decode())
    ]


def built_of(page: str) -> frozenset[tuple[str, ...]]:
    """The kinds of elements in a page's own part: their tags, classes, roles and labels."""
    own = page.partition("<main")[2].partition("</main>")[0]
    return frozenset(
        (tag, *sorted(re.findall(r'(?:class|role|type)="[^"]*"|aria-\w+|data-\w+', rest)))
        for tag, rest in re.findall(r"<(\w+)([^>]*)>", own)
    )


def more_paths(week: Week) -> list[str]:
    """Pages that show something else with a question."""
    lineup = reverse("lineup", args=[week.band.event.pk])
    return [
        f"{lineup}?view=field&segment={week.band.halftime.pk}",
        f"{reverse('people')}?q=nunes",
        f"{reverse('show', args=[week.show.pk])}?set=2",
        reverse("revision", args=[week.second.pk]),
        reverse("import-upload", args=["coordinates"]),
    ]
