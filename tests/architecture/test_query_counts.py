"""A page asks the database as often for three hundred rows as for one."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.audit.recording import recorded
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.events.models import Segment
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.shows.models import Show
from roster.people.models import Member
from roster.ranks.models import Rank, Spot
from tests.architecture.access_table import TABLE
from tests.architecture.counting import asked, earlier_lineup, more
from tests.architecture.many import A_RANK, add_drill, add_rank, grow, map_all, write_lineup
from tests.architecture.world import World, client_of, make_world, url_of
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]

# Who looks, and at what: every page that lists rows or is made from many of them.
LISTS = {
    "director": "roles deputies account member-erase season-next seasons season-people "
    "season-current hand-over",
    "staff": "people people-twice member member-edit member-place member-absences member-release "
    "ranks rank rank-edit spot spot-new spot-backups instruments part-new part-split set-up "
    "invitations imports import-words absences "
    "absence-new events events-earlier event event-edit must-travel segment show week week-of "
    "revision "
    "revision-progress publish sizes api-events api-lineup api-members api-parts api-ranks "
    "api-spots api-alternates api-backups api-absences api-shows api-sets api-coordinates "
    "api-blocks api-attendance api-challenge-rounds api-challenges api-travellers api-tryouts "
    "api-results api-seasons api-record api-kinds api-items api-tokens desk desk-of desk-out "
    "desk-change "
    "desk-open desk-swap alternates "
    "rehearsals attendance practice call call-progress travel calendar-feed challenges round "
    "round-new challenge-criteria protected-spots backups backups-of plan-progress record "
    "record-of record-entry letters "
    "field event-texts drill motion set-sheet relearn set-sheets set-sheets-of-rank "
    "version-checks versions-compare move-limits "
    "versions sets set-positions dot-positions dots event-drill "
    "show-words fundamentals fundamental fundamental-passed fundamental-examples study-sheet "
    "abbreviations sequences sequence "
    "tryout tryout-set-up tryout-quotas tryout-groups candidates candidate candidate-key "
    "check-in checked-in tryout-plan tryout-group panelist tryout-marks typed-sheet "
    "typed-differences candidate-marks look-correct tryout-figures tryout-evaluators "
    "tryout-callbacks tryout-decision tryout-what-if tryout-seating tryout-seat tryout-print "
    "tryout-results tryout-results-print appeal-file excerpts music "
    "equipment equipment-items equipment-item equipment-desk equipment-kinds equipment-kind "
    "equipment-measures equipment-measure equipment-fitting equipment-fit equipment-line "
    "equipment-work equipment-run equipment-out equipment-issue-forms "
    "equipment-labels equipment-out-print uniform readiness truck bring-print load-print",
    "evaluator": "marks challenge-marks marking group-looks look-other",
    "equipment": "sizes api-lineup equipment-charges",
    "leader": "my-rank my-backups rank-report card my-absences attendance practice call-of-rank",
    "member": "my-equipment my-music "
    "card card-of my-absences my-challenges my-record me api-events api-lineup",
}
FLAT = {
    "event-again": "one row",
    "equipment-item-new": "choices alone",
    "equipment-item-edit": "one row",
    "equipment-item-add": "no rows",
    "equipment-items-add": "no rows",
    "equipment-find": "sends on",
    "equipment-scanned": "sends on",
    "equipment-kind-new": "as equipment-kind",
    "equipment-fit-member": "its own tests: as many as kinds",
    "equipment-ticket": "one row",
    "equipment-run-new": "choices alone",
    "equipment-inspection-new": "no rows",
    "equipment-charge-new": "choices alone",
    "equipment-issue-form": "as equipment-issue-forms",
    "show-uniform": "as uniform",
    "readiness-next": "sends on",
    "tryouts": "one row, its own tests",
    "tryout-new": "no rows",
    "tryout-copy": "as tryout-new",
    "tryout-edit": "one row",
    "tryout-ties": "three rows of choices",
    "tryout-session-new": "no rows",
    "tryout-session": "one row",
    "tryout-criterion-new": "no rows",
    "tryout-criterion": "one row",
    "readiness-item-new": "no rows",
    "readiness-item": "one row",
    "candidate-new": "no rows",
    "candidate-edit": "one row",
    "candidate-numbers": "no rows",
    "panelist-new": "as panelist",
    "typed-sheet-new": "choices alone",
    "decision-posting": "one row",
    "offer-change": "one row",
    "look-find": "sends on",
    "my-tryout": "one row, its own tests",
    "excerpt-new": "no rows",
    "excerpt": "one row",
    "section-leader-new": "choices alone",
    "proving": "one word of the cache",
    "home": "sends on",
    "who-marches": "sends on",
    "next-travel": "sends on",
    "spot-coverage": "one spot of the lineup that backups reads",
    "plan": "sends on",
    "lesson-add": "sends on",
    "lineup": "below, up to three hundred spots",
    "proposal": "below, with the solver",
    "seat": "below, up to three hundred spots",
    "sign-in": "no rows",
    "link": "no rows",
    "calendar": "one row",
    "search": "no rows without a question; with one, its own tests",
    "challenge-rule": "one row",
    "sign-out": "no rows",
    "code": "one row",
    "worker": "no rows",
    "offline": "no rows",
    "slip": "one member",
    "set-sheet-print": "as set-sheet",
    "set-sheets-file": "one row",
    "file": "one row",
    "api-docs": "no rows",
    "api-event": "one row",
    "api-member": "one row",
    "api-absence": "one row",
    "api-item": "one row",
    "api-item-hand-out": "one row",
    "api-item-take-back": "one row",
    "api-absence-withdraw": "one row",
    "api-schema": "no rows",
    "api-solve": "no rows",
    "season": "one row",
    "member-new": "as member-edit",
    "member-standing": "one row",
    "member-emergency": "one row",
    "rank-new": "as rank-edit",
    "instrument-new": "no rows",
    "instrument-edit": "one row",
    "part-edit": "as part-new",
    "set": "one row",
    "dot-edit": "one row",
    "event-new": "as event-edit",
    "event-copy": "one row",
    "block-new": "as block",
    "block": "one row",
    "call-file": "one row",
    "show-new": "no rows",
    "show-edit": "one row",
    "custom-field-new": "no rows",
    "custom-field": "one row",
    "close-up": "reads the drill, as version-checks",
    "cut-show": "reads the drill, as version-checks",
    "step-limit-new": "as step-limit",
    "step-limit": "one row and the instruments",
    "fundamental-new": "no rows",
    "fundamental-edit": "one row",
    "abbreviation": "one row",
    "study-sheet-file": "as study-sheet",
    "sequence-file": "as sequence",
    "people-merge": "by what two people have, its own tests",
    "import-columns": "no rows",
    "import-upload": "no rows",
    "import-review": "the import's own tests",
    "import-rest": "as import-review",
    "import-sheets": "as import-review",
    "export": "below",
    "round-edit": "as round-new",
    "challenge-criterion": "one row",
    "audit": "below",
    "history": "below, with the audit",
    "looks": "as the audit",
}


@pytest.fixture
def world(kept_counted: World) -> World:
    """One row of every kind: none at all may save a page a query."""
    return kept_counted


def test_every_page_is_counted_or_says_why_not() -> None:
    pages = {name for name, row in TABLE.items() if row.get != "405 for all"}
    counted = {name for names in LISTS.values() for name in names.split()}
    assert pages - counted - FLAT.keys() == set()


@pytest.mark.parametrize("role", LISTS)
def test_lists_ask_as_often_for_more_rows(world: World, cast: Cast, role: str) -> None:
    client = client_of(cast, role)
    names = LISTS[role].split()
    before = {name: asked(client, url_of(name, world)) for name in names}
    grow(world.band, cast, world.lineup)
    wrong = []
    for name in names:
        after = asked(client, url_of(name, world))
        if len(after) > len(before[name]):
            wrong.append(
                f"{name}: {len(before[name])} then {len(after)}\n{more(before[name], after)}"
            )
    assert not wrong, "\n\n".join(wrong)


@pytest.mark.parametrize(
    "name",
    [
        "members",
        "instruments",
        "ranks",
        "alternates",
        "absences",
        "travel",
        "record-shares",
        "marching-record",
    ],
)
def test_exports_ask_as_often_for_more_rows(world: World, cast: Cast, name: str) -> None:
    client, url = client_of(cast, "staff"), reverse("export", args=[name, "csv"])
    before = asked(client, url)
    grow(world.band, cast, world.lineup)
    after = asked(client, url)
    assert len(after) <= len(before), more(before, after)


@pytest.mark.postgres("window functions over JSON rows")
@pytest.mark.parametrize("address", ["audit?q=call+on+the+phone", "history?kind=ranks_rank"])
def test_the_audit_asks_as_often_for_more_entries(world: World, cast: Cast, address: str) -> None:
    """As many queries as there are tables among the entries, however many entries. What the second
    action overtakes is read once it is there."""
    name, _, query = address.partition("?")
    client, url = client_of(cast, "staff"), f"{reverse(name)}?{query}"
    members = list(world.band.members.values())
    counts: list[list[str]] = []
    for some in (members[:1], members[:1], members[1:4]):
        with recorded(cast.staff, "call on the phone"):
            for member in some:
                Member.objects.filter(pk=member.pk).update(phone="555-0123")
                Rank.objects.filter(pk=world.rank.pk).update(order=10 + len(counts))
        counts.append(asked(client, url))
    assert len(counts[2]) <= len(counts[1]), more(*counts[1:])


@pytest.mark.parametrize("query", ["Fenwick", "1-1", "trumpet", "Fenwik"])
def test_searches_ask_as_often_for_more_rows(world: World, cast: Cast, query: str) -> None:
    client = client_of(cast, "staff")
    urls = [f"{reverse(n)}?q={query}&status=all" for n in ("people", "absences")]
    member = world.band.member("Lo Fenwick", "trumpet")
    Absence.objects.create(member=member, event=world.event, kind=AbsenceKind.OUT)
    before = [asked(client, url) for url in urls]
    grow(world.band, cast, world.lineup)
    for url, first in zip(urls, before, strict=True):
        after = asked(client, url)
        assert len(after) <= len(first), f"{url}\n{more(first, after)}"


def large_band(band: Band, cast: Cast, ranks: int) -> Lineup:
    """A draft of twelve spots a rank, every spot with coordinates; returns the draft."""
    band.event.segments.all().delete()
    for _ in range(ranks):
        add_rank(band)
    show = Show.objects.create(season=band.season, name=f"Show of {ranks}")
    spots = list(Spot.objects.filter(rank__season=band.season).select_related("rank"))
    add_drill(show, [s.label for s in spots])
    map_all(show, spots)
    for order, name in enumerate(("Pregame", "Halftime"), 1):
        Segment.objects.create(
            event=band.event,
            order=order,
            name=name,
            kind=name.lower(),
            show=show,
            starts=f"{12 + order}:00",
            ends=f"{12 + order}:20",
        )
    return write_lineup(band.event, cast.staff, None)


def _counts(band: Band, cast: Cast, ranks: int) -> dict[str, list[str]]:
    """The queries of the pages of one lineup, seen by staff."""
    draft = large_band(band, cast, ranks)
    client = client_of(cast, "staff")
    url = reverse("lineup", args=[band.event.pk])
    pages = {
        "lineup": url,
        "field": f"{url}?view=field",
        "week": reverse("week"),
        "publish": reverse("publish", args=[band.event.pk]),
        "ranks": reverse("ranks"),
        "people": reverse("people"),
        "sizes": reverse("sizes"),
        "show": reverse("show", args=[Show.objects.latest("pk").pk]),
    }
    warm = ranks == 1
    found = {name: asked(client, page, warm) for name, page in pages.items()}
    draft.delete()
    published = write_lineup(band.event, cast.staff, 1)
    pages = {
        "revision": reverse("revision", args=[published.pk]),
        "api": reverse("api-lineup", args=[band.event.pk]),
        "card": reverse("card"),
        "my-rank": reverse("my-rank"),
    }
    leader = client_of(cast, "leader")
    for name, page in pages.items():
        found[name] = asked(leader if name in ("card", "my-rank") else client, page, warm)
    return found


def test_three_hundred_spots_ask_no_more_than_twelve(band: Band, cast: Cast) -> None:
    earlier_lineup(band, cast)
    few = _counts(band, cast, 1)
    band.event.pk, band.event.name = None, "The same with more"
    band.event.date = band.event.date.replace(day=10)
    band.event.save()
    many = _counts(band, cast, 24)
    assert Spot.objects.filter(rank__season=band.season).count() >= 24 * A_RANK
    wrong = [
        f"{name}: {len(few[name])} then {len(many[name])}\n{more(few[name], many[name])}"
        for name in few
        if len(many[name]) > len(few[name])
    ]
    assert not wrong, "\n\n".join(wrong)


# What a page may ask at most; with room for a few queries, none for one a row.
# The show of the week has sets and a practice log, which a lineup reads too; the event asks for a
# uniform, for which a lineup reads the store, a dozen queries however much is in it.
BUDGET = {"week": 93, "lineup": 78, "proposal": 62, "seat": 82, "my-rank": 43, "card": 42}


@pytest.mark.parametrize("spots", [0, 24])
@pytest.mark.parametrize("name", BUDGET)
def test_the_pages_of_the_week_keep_their_budget(
    band: Band, cast: Cast, name: str, spots: int
) -> None:
    if spots:
        add_rank(band, spots)
    world = make_world(band, cast.staff, cast.member)
    assert lineup_queries.published(band.event)
    role = {"my-rank": "leader", "card": "member"}.get(name, "staff")
    count = len(asked(client_of(cast, role), url_of(name, world)))
    assert count <= BUDGET[name], f"{name}: {count} queries"


@pytest.mark.parametrize("name", ["proposal", "seat"])
def test_pages_with_the_solver_ask_as_often_for_more_spots(
    world: World, cast: Cast, name: str
) -> None:
    client, url = client_of(cast, "staff"), url_of(name, world)
    before = asked(client, url)
    add_rank(world.band, 12)
    open_draft(actor=cast.staff, event=world.event)
    after = asked(client, url)
    assert len(after) <= len(before), more(before, after)
