"""Every address, every role, GET and POST: who gets in. The expectations are the design's."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from drill.enums import AbsenceKind, AbsenceState
from drill.models import Absence, Event, Segment
from roster.enums import MemberStatus, Role
from roster.models import Holding, Member, RoleGrant
from tests.architecture.world import (
    ROLES,
    World,
    all_names,
    arguments,
    client_of,
    two_seasons,
    undone,
    url_of,
)
from tests.factories import Cast
from tests.reading import steady

pytestmark = pytest.mark.django_db

EVERYBODY = " ".join(ROLES)
SIGNED_IN = EVERYBODY.replace(" visitor", "")
STAFF = "director staff"
MEMBERS = "leader member other"
READERS = f"{STAFF} gear {MEMBERS}"
"""who reads published lineups: not an evaluator, whose own marks are all they see"""


@dataclass(frozen=True)
class Row:
    """Who may. Others are refused, visitors sent to sign in."""

    allowed: str
    get: str = "ok"
    post: str = "ok"
    refused: str = "403"
    visitor: str = "sign-in"
    odd: dict[tuple[str, str], str] = field(default_factory=dict)

    def expected(self, role: str, method: str) -> str:
        plain = self.get if method == "GET" else self.post
        if (role, method) in self.odd:
            return self.odd[role, method]
        if plain == "405 for all":
            return "405"
        if role in self.allowed.split():
            return plain
        return self.visitor if role == "visitor" else self.refused


def page(allowed: str, **more: object) -> Row:
    """A page, with or without a form on it."""
    return Row(allowed, **more)  # type: ignore[arg-type]


def button(allowed: str, **more: object) -> Row:
    """An address that only forms are sent to."""
    return Row(allowed, get="405 for all", **more)  # type: ignore[arg-type]


def api(allowed: str, **more: str) -> Row:
    """The API refuses visitors instead of sending them on."""
    return Row(allowed, visitor="403", **more)  # type: ignore[arg-type]


TABLE = {
    # accounts
    "sign-in": page(EVERYBODY),
    "link": page(EVERYBODY, post="410"),
    "sign-out": page(EVERYBODY, get="sign-in", post="sign-in"),
    "me": page(SIGNED_IN),
    "home": page(SIGNED_IN),
    # members, ranks, shows, events: staff all
    "people": page(STAFF),
    "member-new": page(STAFF),
    "people-bulk": button(STAFF),
    "member": page(STAFF),
    "member-edit": page(STAFF),
    "member-standing": page(STAFF),
    "member-place": page(STAFF),
    "member-status": button(STAFF),
    "member-emergency": page(STAFF),
    "member-absences": page(STAFF),
    "member-release": page(STAFF),
    "ranks": page(STAFF),
    "rank-new": page(STAFF),
    "rank": page(STAFF),
    "rank-edit": page(STAFF),
    "spot-new": page(STAFF),
    "alternates-reorder": button(STAFF),
    "spot": page(STAFF),
    "instruments": page(STAFF),
    "instrument-new": page(STAFF),
    "instrument-edit": page(STAFF),
    "part-new": page(STAFF),
    "part-edit": page(STAFF),
    "part-remove": button(STAFF),
    "events": page(STAFF),
    "event-new": page(STAFF),
    "event": page(STAFF),
    "event-edit": page(STAFF),
    "event-copy": page(STAFF),
    "event-remove": button(STAFF),
    "must-travel": page(STAFF),
    "travel": page(STAFF),
    "travel-change": button(STAFF),
    "segment": page(STAFF),
    "segment-remove": button(STAFF),
    "show-new": page(STAFF),
    "show": page(STAFF),
    "show-place": button(STAFF),
    "show-edit": page(STAFF),
    "event-texts": page(STAFF),
    "field": page(STAFF),
    "custom-field-new": page(STAFF),
    "custom-field": page(STAFF),
    "custom-field-remove": button(STAFF),
    "version-checks": page(STAFF),
    "event-drill": page(STAFF),
    "cut-show": page(STAFF),
    "drill-undo": button(STAFF),
    "close-up": page(STAFF),
    "versions-compare": page(STAFF),
    "move-limits": page(STAFF),
    "step-limit-new": page(STAFF),
    "step-limit": page(STAFF),
    "step-limit-remove": button(STAFF),
    "versions": page(STAFF),
    "version-use": button(STAFF),
    "sets": page(STAFF),
    "set": page(STAFF),
    "set-move": button(STAFF),
    "set-remove": button(STAFF),
    "set-positions": page(STAFF),
    "place-positions": page(STAFF),
    "places": page(STAFF),
    "place-edit": page(STAFF),
    "place-remove": button(STAFF),
    # rehearsals: staff all; rank leaders note and print their own rank
    "block-new": page(STAFF),
    "block": page(STAFF),
    "block-remove": button(STAFF),
    "rehearsals": page(STAFF),
    "attendance": page(f"{STAFF} leader"),
    "attendance-note": button(f"{STAFF} leader"),
    "attendance-rest": button(f"{STAFF} leader"),
    "practice": page(f"{STAFF} leader"),
    # an entry belongs to whoever wrote it, here staff
    "practice-remove": button(STAFF),
    "call": page(STAFF),
    "call-progress": page(STAFF),
    "call-file": page(STAFF),
    "call-of-rank": page(f"{STAFF} leader"),
    # members: gear managers read names and sizes
    "sizes": page(f"{STAFF} gear"),
    # the season: the director's
    "set-up": page(STAFF),
    "season": page("director"),
    "starter-parts": button(STAFF),
    "roles": page("director"),
    "role-revoke": button("director"),
    "invite-all": button(STAFF),
    "test-mail": button(STAFF),
    "audit": page(STAFF),
    "imports": page(STAFF),
    "import-columns": page(STAFF),
    "import-upload": page(STAFF),
    # a file under review belongs to whoever chose it
    "import-review": page(STAFF, odd={("director", "GET"): "404", ("director", "POST"): "404"}),
    "import-undo": button(STAFF),
    "export": page(STAFF),
    # lineups: staff all, published ones to gear managers and members
    "week": page(STAFF),
    "week-of": page(STAFF),
    "who-marches": page(STAFF),
    "lineup": page(STAFF),
    "proposal": page(STAFF),
    "mark-out": button(STAFF),
    "publish": page(STAFF),
    "lift-order": button(STAFF),
    "seat": page(STAFF),
    "place": button(STAFF),
    "order": button(STAFF),
    "revision": page(STAFF),
    "revision-progress": page(STAFF),
    "revision-prints": button(STAFF),
    # a rank's leader tells their own rank in person
    "notice-told": button(f"{STAFF} leader"),
    "notices-now": button(STAFF),
    "notice-confirm": button(MEMBERS, odd={("member", "POST"): "404", ("other", "POST"): "404"}),
    # the game-day desk; the slip is of somebody in rank 1
    "desk": page(STAFF),
    "desk-of": page(STAFF),
    "desk-out": page(STAFF),
    "desk-fill": button(STAFF),
    "desk-change": page(STAFF),
    "desk-undo": button(STAFF),
    "desk-clash": button(STAFF),
    "slip": page(f"{STAFF} leader member"),
    "covers": page(STAFF),
    "covers-of": page(STAFF),
    "plan": page(STAFF),
    "plan-progress": page(STAFF),
    "lesson-add": page(STAFF),
    "lesson": button(STAFF),
    "history": page(STAFF),
    "take-back": button(STAFF),
    "revision-again": button(STAFF),
    "worker": page(EVERYBODY),
    "offline": page(EVERYBODY),
    "file": page(READERS),
    "code": page(EVERYBODY),
    "by-hand": button(STAFF),
    "cover": button(STAFF),
    "spot-covers": page(STAFF),
    # drill: staff's; a spot's sheet is for its rank's leader and those who work on it
    "drill": page(STAFF),
    "motion": page(STAFF),
    "set-sheet": page(f"{STAFF} leader member"),
    "set-sheet-print": page(f"{STAFF} leader member"),
    "set-sheets-of-rank": page(f"{STAFF} leader"),
    "relearn": page(f"{STAFF} leader member"),
    # absences: staff all; members their own; rank leaders report, without a reason
    "absences": page(STAFF),
    "absence-new": page(STAFF),
    "absence-decide": button(STAFF),
    "absence-withdraw": button(f"{STAFF} member"),
    "my-absences": page(MEMBERS),
    "rank-report": page("leader"),
    # a calendar address is one's own; what it answers needs no signing in
    "calendar": page(f"{READERS} evaluator"),
    "calendar-feed": page(EVERYBODY, post="405"),
    # a search finds what its reader may see
    "search": page(f"{READERS} evaluator", post="405"),
    # contests: staff's; evaluators mark sides, members ask and see their own
    "contests": page(STAFF),
    "round-new": page(STAFF),
    "round": page(STAFF),
    "round-edit": page(STAFF),
    "contest-criteria": page(STAFF),
    "contest-criteria-start": button(STAFF),
    "contest-criterion": page(STAFF),
    "contest-criterion-remove": button(STAFF),
    "protected-spots": page(STAFF),
    "protection-lift": button(STAFF),
    "contest-decide": button(STAFF),
    "contest-take-back": button(STAFF),
    "contest-effect": button(STAFF),
    "contest-call-off": button(STAFF),
    "my-contests": page(MEMBERS),
    "marks": page("evaluator"),
    "contest-marks": page("evaluator"),
    # the turn book: staff's, and one's own lines
    "turns": page(STAFF),
    "turns-of": page(STAFF),
    "turn": page(STAFF),
    "my-turns": page(MEMBERS),
    # fundamentals, words, evaluation sequences: staff's
    "show-words": page(STAFF),
    "show-words-keep": button(STAFF),
    "fundamentals": page(STAFF),
    "fundamental-new": page(STAFF),
    "fundamental": page(STAFF),
    "fundamental-edit": page(STAFF),
    "fundamental-remove": button(STAFF),
    "fundamental-passed": page(STAFF),
    "study-sheet": page(STAFF),
    "study-sheet-file": page(STAFF),
    "sequences": page(STAFF),
    "sequence": page(STAFF),
    "sequence-file": page(STAFF),
    "sequence-remove": button(STAFF),
    # own pages
    "card": page(MEMBERS),
    "card-of": page(MEMBERS),
    "my-rank": page("leader"),
    "my-covers": page("leader"),
    # the API keeps the same rules; its description holds no data
    "api-docs": page(f"{READERS} evaluator"),
    "api-schema": api(EVERYBODY, post="405"),
    "api-events": api(READERS, post="405"),
    "api-lineup": api(READERS, post="405"),
    "api-solve": api(STAFF, get="405"),
}


@pytest.fixture
def worlds(db: None) -> tuple[World, World, Cast]:
    return two_seasons()


def outcome(response: HttpResponse) -> str:
    """What came of a request: ok covers a page, a redirect onwards and a form with errors."""
    code = response.status_code
    if code in (301, 302):
        to_sign_in = response["Location"].split("?")[0] == reverse("sign-in")
        return "sign-in" if to_sign_in else "ok"
    return "ok" if code in (200, 400) else str(code)


def test_every_address_has_a_row() -> None:
    names = all_names()
    assert len(names) == len(set(names)), "two addresses share a name"
    assert set(names) == set(TABLE)


@pytest.mark.parametrize("role", ROLES)
def test_who_gets_in(worlds: tuple[World, World, Cast], role: str) -> None:
    world, _, cast = worlds
    client = client_of(cast, role)
    cookies = client.cookies.copy()
    wrong = []
    for name, row in TABLE.items():
        for method in ("GET", "POST"):
            with undone():
                client.cookies = cookies.copy()  # type: ignore[assignment]
                before = AuditEntry.objects.count()
                got = outcome(client.generic(method, url_of(name, world)))
                wrote = AuditEntry.objects.count() - before
            expected = row.expected(role, method)
            if got != expected or (wrote and expected not in ("ok", "sign-in")):
                wrong.append(f"{method} {name}: {got}, not {expected}; {wrote} rows written")
    assert not wrong, "\n".join(wrong)


def _foreign_urls(world: World, former: World) -> Iterator[tuple[str, str]]:
    """Every address with each of its rows in turn taken from the former season."""
    ours, theirs = arguments(world), arguments(former)
    public = ("link", "code", "import-upload", "export", "import-undo", "import-review")
    for name, mine in ours.items():
        if name in public:
            continue
        for position, foreign in enumerate(theirs[name]):
            if foreign != mine[position]:
                args = [*mine[:position], foreign, *mine[position + 1 :]]
                yield name, reverse(name, args=args)


@pytest.mark.parametrize("role", ["director", "member"])
def test_rows_of_another_season_are_not_found(worlds: tuple[World, World, Cast], role: str) -> None:
    world, former, cast = worlds
    client = client_of(cast, role)
    wrong = []
    for name, url in _foreign_urls(world, former):
        row = TABLE[name]
        if role not in row.allowed.split():
            continue
        for method in ("GET", "POST"):
            expected = row.expected(role, method)
            with undone():
                got = outcome(client.generic(method, url))
            if got != ("405" if expected == "405" else "404"):
                wrong.append(f"{method} {url} ({name}): {got}")
    assert not wrong, "\n".join(wrong)


def test_forms_do_not_take_rows_of_another_season(worlds: tuple[World, World, Cast]) -> None:
    world, former, cast = worlds
    client = client_of(cast, "director")
    event, absence = world.event, {"kind": "out", "member": world.member.pk}
    seat = {"version": world.lineup.version}
    posts: list[tuple[str, dict[str, object]]] = [
        ("absence-new", {"kind": "out", "member": former.member.pk, "event": event.pk}),
        ("absence-new", absence | {"event": former.event.pk}),
        ("absence-new", absence | {"segment": former.segment.pk}),
        ("mark-out", {"member": former.member.pk}),
        ("mark-out", absence | {"scope": "segment", "segment": former.segment.pk}),
        ("place", seat | {"member": former.member.pk}),
        ("order", {"what": "pin", "member": former.member.pk}),
        ("order", {"what": "bar", "member": former.member.pk}),
        ("people-bulk", {"what": "on leave", "member": former.member.pk}),
        ("member-place", {"kind": "hold", "spot": former.spot.pk, "on": "2099-09-01"}),
        ("member-place", {"kind": "swap", "other": former.member.pk, "on": "2099-09-01"}),
        (
            "member-place",
            {"kind": "alternate", "rank": former.rank.pk, "part": former.part.pk}
            | {"on": "2099-09-01"},
        ),
        ("rank-edit", {"label": "1", "order": 1, "leader": former.member.pk}),
        ("spot", {"number": 3, "part": former.part.pk, "weight": 1}),
        ("part-new", {"instrument": former.instrument.pk, "name": "X", "code": "x", "order": 1}),
        ("must-travel", {"members": former.member.pk}),
        ("travel-change", {"what": "add", "member": former.member.pk}),
        ("travel-change", {"what": "remove", "member": former.member.pk}),
        ("show-place", {"spot": former.spot.pk, "place": ""}),
        ("versions", {"label": "Copied", "copy_of": former.drilled.pk}),
        ("sets", {"label": "9", "counts": 8, "after": former.set_pk}),
        (
            "segment",
            {"name": "Halftime", "kind": "halftime", "show": former.show.pk}
            | {"starts": "16:00", "ends": "16:20"},
        ),
        (
            "round",
            {"member": former.band.members["Ida Voss"].pk, "spot": world.spot.pk},
        ),
        ("round", {"member": world.band.members["Ida Voss"].pk, "spot": former.spot.pk}),
        ("protected-spots", {"spot": former.spot.pk}),
        ("turn", {"outcome": "marched", "spot": former.spot.pk, "note": "so it was"}),
        (
            "round-edit",
            {"name": "Held", "effective": former.event.pk, "opens_at": "2099-10-01T12:00"}
            | {"closes_at": "2099-10-02T12:00", "held_at": "2099-10-03T12:00"},
        ),
        (
            "alternates-reorder",
            {f"standing-{former.band.members['Ida Voss'].pk}": 1},
        ),
    ]
    for name, data in posts:
        before = AuditEntry.objects.count()
        response = client.post(url_of(name, world), data)
        assert response.status_code in (200, 302, 404), name
        assert AuditEntry.objects.count() == before, f"{name} with {data}"


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
        assert (absence.category, absence.review_date, absence.chance) == ("", None, 1)
        assert absence.state == AbsenceState.REPORTED


def test_nobody_withdraws_what_another_reported(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    url = url_of("absence-withdraw", world)
    for role in ("other", "leader", "gear", "evaluator", "outsider"):
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


def _shut_out(client: Client, world: World) -> list[str]:
    """Addresses of the season that still open; own account and public pages left out."""
    open_to_all = {n for n, row in TABLE.items() if "outsider" in row.allowed.split()}
    found = []
    for name, row in TABLE.items():
        if name in open_to_all:
            continue
        method = "POST" if row.get == "405 for all" else "GET"
        with undone():
            got = outcome(client.generic(method, url_of(name, world)))
        if got not in ("403", "sign-in", "405"):
            found.append(f"{name}: {got}")
    return found


def _leave(world: World, cast: Cast) -> None:
    Member.objects.filter(person__user=cast.leader).update(status=MemberStatus.LEFT)


def _lose_roles(world: World, cast: Cast) -> None:
    RoleGrant.objects.filter(user=cast.director).delete()


def _roles_of_last_year(world: World, cast: Cast) -> None:
    former = world.band.season.__class__.objects.get(name="2098")
    RoleGrant.objects.filter(user=cast.director).update(season=former)


def _member_of_last_year(world: World, cast: Cast) -> None:
    former = world.band.season.__class__.objects.get(name="2098")
    Member.objects.filter(person__user=cast.leader).update(season=former)


Change = Callable[[World, Cast], None]


@pytest.mark.parametrize(
    ("role", "change"),
    [
        ("leader", _leave),
        ("director", _lose_roles),
        ("director", _roles_of_last_year),
        ("leader", _member_of_last_year),
    ],
)
def test_whoever_no_longer_belongs_sees_nothing(
    worlds: tuple[World, World, Cast], role: str, change: Change
) -> None:
    world, _, cast = worlds
    client = client_of(cast, role)
    assert _shut_out(client, world), "the account has pages before"
    change(world, cast)
    assert not _shut_out(client, world)
    assert client.get(reverse("me")).status_code == 200, "the own account stays"


def test_a_deactivated_account_is_out_at_once(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    client = client_of(cast, "director")
    cast.director.is_active = False
    cast.director.save()
    assert not _shut_out(client, world)
    assert outcome(client.get(reverse("me"))) == "sign-in"


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
    posts: dict[str, dict[str, object]] = {
        "place": {"version": draft.version, "member": world.band.members["Jon Pell"].pk},
        "order": {"what": "open"},
        "lift-order": {},
        "proposal": {"version": draft.version},
        "publish": {"version": draft.version, "number": 1},
    }
    for name, data in posts.items():
        before = AuditEntry.objects.count()
        assert staff.post(url_of(name, world), data).status_code in (302, 403), name
        assert AuditEntry.objects.count() == before, name
    director = client_of(cast, "director")
    assert director.post(url_of("order", world), posts["order"]).status_code == 302
    assert AuditEntry.objects.count() > before


def test_looking_makes_no_draft_after_the_cut_off(worlds: tuple[World, World, Cast]) -> None:
    world, _, cast = worlds
    empty = Event.objects.create(
        season=world.band.season,
        name="Long past",
        date="2099-09-09",
        cut_off="2020-01-01T00:00:00Z",
    )
    Segment.objects.create(
        event=empty, order=1, name="Pregame", kind="pregame", starts="10:00", ends="10:10"
    )
    for _ in range(2):
        response = client_of(cast, "staff").get(reverse("lineup", args=[empty.pk]), follow=True)
        assert response.status_code == 200
    assert not empty.lineups.exists()


def test_pages_answer_only_to_reading_and_posting(worlds: tuple[World, World, Cast]) -> None:
    """Any other method could show a form without the look being noted."""
    world, _, cast = worlds
    client = client_of(cast, "staff")
    for name in TABLE:
        if TABLE[name].visitor == "403":
            continue  # the API has its own methods
        for method in ("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"):
            response = client.generic(method, url_of(name, world))
            assert response.status_code == 405, f"{method} {name}"


@pytest.mark.parametrize("junk", ["²", "9" * 40, "\0", "-1 <b>"])
def test_nonsense_breaks_no_page(worlds: tuple[World, World, Cast], junk: str) -> None:
    """What cannot be meant is refused or ignored, never a server error."""
    world, _, cast = worlds
    names = (
        "member version number segment spot place part q page set status view what scope kind "
        "rank show state key noted_at settles first_set last_set "
        f"paper only decision order next standing-{junk} event date on leader"
    )
    data = dict.fromkeys(names.split(" "), junk)
    client = client_of(cast, "director")
    for name in TABLE:
        for send in (client.get, client.post):
            with undone():
                assert send(url_of(name, world), data).status_code < 500, name


def test_a_member_cannot_choose_another_card(worlds: tuple[World, World, Cast]) -> None:
    """The card's number is an event's: whatever is added, the card is one's own."""
    world, _, cast = worlds
    client = client_of(cast, "other")
    url = f"{reverse('card-of', args=[world.event.pk])}?member={world.member.pk}"
    text = steady(client.get(url).content.decode())
    assert "2-3" in text and "1-3" not in text


def test_former_holders_keep_nothing(worlds: tuple[World, World, Cast]) -> None:
    """Whoever moved to another rank is no longer reported or called by the old leader."""
    world, _, cast = worlds
    world.member.person.share_contact = True
    world.member.person.save()
    Member.objects.filter(pk=world.member.pk).update(phone="555-0142")
    client = client_of(cast, "leader")
    assert "555-0142" in client.get(reverse("my-rank")).content.decode()
    Holding.objects.filter(member=world.member).update(ends="2099-09-01")
    assert "555-0142" not in client.get(reverse("my-rank")).content.decode()
    data = {"kind": "out", "event": world.event.pk, "member": world.member.pk}
    before = Absence.objects.count()
    client.post(reverse("rank-report"), data)
    assert Absence.objects.count() == before


def test_roles_are_given_by_directors_only(worlds: tuple[World, World, Cast]) -> None:
    _, _, cast = worlds
    data = {"email": cast.staff.email, "name": "", "role": Role.DIRECTOR}
    assert client_of(cast, "staff").post(reverse("roles"), data).status_code == 403
    assert not RoleGrant.objects.filter(user=cast.staff, role=Role.DIRECTOR).exists()
