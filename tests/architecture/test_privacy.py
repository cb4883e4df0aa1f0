"""The private reason: what nobody but staff and oneself may read, wherever it could show."""

from __future__ import annotations

import datetime
import html
import io
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode, urljoin

import pytest
from django.core import mail
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.audit.models import AuditEntry
from bandops.lib.outbox.models import Artifact
from drill.enums import AbsenceKind
from drill.models import Absence, CalendarFeed, Lineup, LineupRow, Notice
from drill.services.absences import Report, report_absence
from drill.services.lineups import open_draft, take_proposal
from drill.services.notices import send_notice
from drill.sheets import sheets
from roster.models import Member
from tests.architecture.test_access import READERS, TABLE, outcome
from tests.architecture.world import World, client_of, make_world, publish, url_of
from tests.factories import Band, Cast, make_band, make_cast
from tests.reading import steady

pytestmark = pytest.mark.django_db

OTHERS = ("gear", "evaluator", "leader", "member", "other", "outsider", "visitor")
NAMELESS = ("evaluator", "outsider", "visitor")
LEGAL = "Caspian Formerly"
REVIEW = datetime.date(2099, 11, 19)
DATES = ("2099-11-19", "Nov. 19", "19 Nov", "November 19", "Nov 19", "19 November")
PHONES = {"Cai Ørnberg": "555-0142", "Bo Larkspur": "555-0177", "Hal Brook": "555-0199"}
STATE_WORDS = re.compile(
    r"\b(cleared|clearance|eligib\w*|ineligib\w*|category|chance|audit)\b", re.I
)
REASON_WORDS = re.compile(r"\b(health|family|conduct)\b", re.I)
OWN_PAGES = ("/me/", "/my-absences/")
SEARCHES = ("Cai", "Hal", "Jon", "Rank", "Bracken", "Trumpet", "Saturday")
"""what everybody looks for; none is private by itself"""
REPORT_FORMS = ("/my-absences/", "/my-rank/report/")


@dataclass(frozen=True)
class Scene:
    """A published lineup that several private facts stand behind."""

    world: World
    cast: Cast
    first: Lineup
    second: Lineup
    sentences: tuple[str, ...]
    """why somebody was not placed or stands in, as staff read it"""


@pytest.fixture
def scene(db: None, caplog: pytest.LogCaptureFixture) -> Scene:
    """Cai is limited until a review date, Dee not cleared, Gus not eligible, Eno doubtful."""
    caplog.set_level("DEBUG")
    return make_scene()


@pytest.fixture
def printed(db: None, django_capture_on_commit_callbacks: Callable[..., Any]) -> Scene:
    """The same with its prints made and its mails sent."""
    with django_capture_on_commit_callbacks(execute=True):
        return make_scene()


def make_scene() -> Scene:
    """Two revisions; the second after everything that is private has happened."""
    band = make_band()
    cast = make_cast(band)
    for name, phone in PHONES.items():
        Member.objects.filter(pk=band.members[name].pk).update(phone=phone)
    for number, member in enumerate(band.members.values()):
        Member.objects.filter(pk=member.pk).update(emergency_contact=f"Aunt 555-09{number:02d}")
    cai = band.members["Cai Ørnberg"].person
    cai.refresh_from_db()
    cai.legal_name, cai.used_name = LEGAL, "Cai Ørnberg"
    cai.save()
    bo = band.members["Bo Larkspur"].person
    bo.share_contact = False
    bo.save()
    world = make_world(band, cast.staff, cast.member)
    for user in {cast.named(role) for role in (*OTHERS, "director")} - {None}:
        CalendarFeed.objects.create(user=user)
    _happen(band, cast)
    draft = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    second = publish(band, cast.staff, 1)
    laid_out = sheets(second)
    seats = [s for rank in laid_out.ranks for line in rank.lines for s in line.seats if s.word]
    sentences = {laid_out.why(seat) for seat in seats}
    return Scene(world, cast, world.lineup, second, tuple(sentences))


def _happen(band: Band, cast: Cast) -> None:
    until = {"kind": AbsenceKind.LIMITED, "from_date": datetime.date(2099, 9, 1)}
    until |= {"until_date": REVIEW, "review_date": REVIEW, "category": "health"}
    doubtful = {"kind": AbsenceKind.DOUBTFUL, "event": band.event, "category": "family"}
    doubtful |= {"chance": Decimal("0.37"), "review_date": REVIEW}
    for name, values in (("Cai Ørnberg", until), ("Eno Farrow", doubtful)):
        report_absence(actor=cast.staff, report=Report(band.members[name], values), by_staff=True)
    Member.objects.filter(pk=band.members["Dee Quill"].pk).update(
        cleared="no", cleared_by="Trainer Oakes"
    )
    Member.objects.filter(pk=band.members["Gus Tamm"].pk).update(eligible="no")
    Member.objects.filter(pk=band.members["Hal Brook"].pk).update(
        cleared="until", cleared_until=REVIEW, cleared_by="Trainer Oakes"
    )


def text_of(response: HttpResponse) -> str:
    """Everything the response says: markup and attributes, JSON, the text of a PDF."""
    content = b"".join(response.streaming_content) if response.streaming else response.content
    if response.get("Content-Type", "").startswith("application/pdf") and content[:4] == b"%PDF":
        reader = PdfReader(io.BytesIO(content))
        return f"{reader.metadata}\n" + "\n".join(page.extract_text() for page in reader.pages)
    if response.get("Content-Type", "").startswith("application/json"):
        return json.dumps(json.loads(content), ensure_ascii=False)
    if response.get("Content-Type", "").startswith("text/calendar"):
        content = content.replace(b"\r\n ", b"")
    return html.unescape(content.decode("utf-8", "replace"))


LINK = re.compile(r'(?:href|hx-get|src)="([^"#]+)"')


def crawl(client: Client, scene: Scene) -> dict[str, str]:
    """Every page the client gets to: all addresses, searches on them, prints, and all links."""
    world = scene.world
    # Of calendars one's own only, which its page leads to: the address is the key.
    waiting = [url_of(name, world) for name in TABLE if name not in ("sign-out", "calendar-feed")]
    waiting += [reverse("file", args=[pk]) for pk in Artifact.objects.values_list("pk", flat=True)]
    found: dict[str, str] = {}
    while waiting:
        url = waiting.pop()
        if url in found or url.startswith("/static/"):
            continue
        response = client.get(url)
        found[url] = text_of(response)
        if response.status_code == 200 and "?" not in url:
            typed = SEARCHES if url == reverse("search") else SEARCHES[:1]
            waiting += [f"{url}?{urlencode({'q': text, 'status': 'all'})}" for text in typed]
        if response.status_code in (301, 302):
            waiting.append(urljoin(url, response["Location"]))
        for link in LINK.findall(found[url]):
            target = urljoin(url, link)
            if target.startswith("/"):
                waiting.append(target)
    return found


def private_texts(scene: Scene, role: str) -> list[str]:
    """What must not show to the role, apart from its own facts on its own pages."""
    members = list(Member.objects.select_related("person"))
    texts = [LEGAL, "Trainer Oakes", "0.37", *DATES, *scene.sentences]
    texts += [m.emergency_contact for m in members]
    texts += [m.person.student_number for m in members if m.person.student_number]
    for member in members:
        shared = member.person.share_contact and member.name in ("Ana Núñez", "Cai Ørnberg")
        if role != "leader" or not shared:
            texts += [t for t in (member.phone, member.person.email) if t]
    if role in NAMELESS:
        texts += [m.name for m in members] + ["Jon Pell", "1-3", "Brackenfield"]
    return texts


def own_texts(scene: Scene, role: str) -> set[str]:
    """The facts about the account's own member."""
    user = scene.cast.named(role)
    me = Member.objects.filter(person__user=user).select_related("person").first()
    if me is None or user is None:
        return set()
    person = me.person
    return {
        person.legal_name, person.student_number, person.email, me.phone, me.emergency_contact,
        me.cleared_by, *DATES,
    }  # fmt: skip


def leaks_of(scene: Scene, role: str) -> set[str]:
    """Every private text the role gets to, with where it stands."""
    own, private = own_texts(scene, role), private_texts(scene, role)
    found = []
    for url, text in crawl(client_of(scene.cast, role), scene).items():
        path = url.split("?")[0]
        mine = path in OWN_PAGES
        found += [f"{role} {url}: {t}" for t in private if t in text and not (mine and t in own)]
        if mine or path in ("/api/schema/", "/sign-in/"):
            continue
        for words in (STATE_WORDS, REASON_WORDS):
            found += [f"{role} {url}: {m}" for m in words.findall(text)]
        if role != "leader" and path not in REPORT_FORMS:
            found += [f"{role} {url}: {m}" for m in re.findall(r"\b(limited|doubtful)\b", text)]
    return set(found)


def test_nothing_private_shows(printed: Scene) -> None:
    """Pages, searches, exports, API, prints: crawled as everybody but staff."""
    leaks = set().union(*(leaks_of(printed, role) for role in OTHERS))
    assert not leaks, "\n".join(sorted(leaks))


def test_the_crawl_sees_all_there_is(printed: Scene) -> None:
    """As a director it finds every private text, as a member every print: it is not blind."""
    everything = "\n".join(crawl(client_of(printed.cast, "director"), printed).values())
    unseen = {t for t in private_texts(printed, "gear") if t not in everything}
    assert unseen <= set(DATES), unseen
    assert any(date in everything for date in DATES)
    assert STATE_WORDS.search(everything) and REASON_WORDS.search(everything)
    assert len(printed.sentences) >= 2
    pages = crawl(client_of(printed.cast, "other"), printed)
    assert any(text.startswith("BEGIN:VCALENDAR") for text in pages.values())
    prints = [text for text in pages.values() if "/Title" in text]
    assert len(prints) >= 4, "lineup and assignments of two revisions"
    assert any("Ida Voss" in text and "stands in" in text for text in prints)
    first = [text for text in prints if "revision 1" in text]
    assert first and all("Cai Ørnberg" in text for text in first), "the used name is printed"


def answer_to(client: Client, typed: str) -> str:
    """What the search says, without what was typed and without the form's token."""
    typed = typed[:100]  # as much as the search reads
    text = text_of(client.get(reverse("search"), {"q": typed}))
    return re.sub(r'"X-CSRFToken": "[^"]*"|value="[^"]{64}"', "", text).replace(typed, "")


@pytest.mark.parametrize("role", ["gear", "evaluator", "leader", "member", "other"])
def test_a_search_for_what_is_private_finds_what_nonsense_finds(scene: Scene, role: str) -> None:
    """Else whoever types a number or a date learns whose it is."""
    client = client_of(scene.cast, role)
    nothing = answer_to(client, "xyzzy")
    known = {"1-3", "Brackenfield", *(m.name for m in Member.objects.select_related("person"))}
    private = set(private_texts(scene, role)) - known
    private |= {"Caspian", "Formerly", "Oakes", "health", "family", "not cleared", "doubtful"}
    assert len(private) > 40
    for typed in sorted(private):
        assert answer_to(client, typed) == nothing, typed
    found = answer_to(client, "Larkspur") != nothing
    assert found == (role not in NAMELESS), "it does find what is not private"


def test_the_schema_has_no_private_field(scene: Scene) -> None:
    text = client_of(scene.cast, "visitor").get(reverse("api-schema")).content.decode()
    names = {"category", "cleared", "eligible", "reason", "review", "phone", "email", "contact"}
    names |= {"student", "legal", "doubtful", "chance"}
    assert not [n for n in names if re.search(rf"\b{n}\w*:", text)]


def test_mails_say_what_changed_and_never_why(scene: Scene) -> None:
    for notice in Notice.objects.all():
        send_notice(notice.pk)
    assert len(mail.outbox) >= 8
    leaders = {scene.world.band.members[n].person.email for n in ("Ana Núñez", "Fay Ashgrove")}
    for message in mail.outbox:
        text = f"{message.subject}\n{message.body}"
        assert not STATE_WORDS.search(text) and not REASON_WORDS.search(text), text
        for secret in {*private_texts(scene, "gear")} - {""}:
            assert secret not in text, f"{secret} in {text}"
        names = {m.name for m in scene.world.band.members.values()} - {LEGAL}
        named = sum(name in text for name in names)
        assert named == 1 or message.to[0] in leaders, "only leaders read of others: their rank"
        assert len(message.to) == 1 and not message.cc and not message.bcc


def test_what_is_stored_with_a_revision_tells_no_health_and_no_standing(scene: Scene) -> None:
    stored = [scene.first.change_notice, scene.second.change_notice]
    stored += list(Notice.objects.values_list("content", flat=True))
    stored += list(LineupRow.objects.values_list("reason", flat=True))
    text = json.dumps(stored)
    for words in (STATE_WORDS, REASON_WORDS):
        assert not words.search(text)
    not_cleared = {f"{scene.world.band.members[n].pk:07d}" for n in ("Dee Quill", "Gus Tamm")}
    for row in LineupRow.objects.filter(lineup=scene.second):
        named = {c["member"] for c in row.reason.get("cures", [])}
        assert not named & not_cleared, "the tool never proposes clearing anyone"


def test_logs_hold_no_private_text(scene: Scene, caplog: pytest.LogCaptureFixture) -> None:
    client = client_of(scene.cast, "staff")
    for name in ("member", "member-edit", "absences", "audit", "lineup", "week"):
        client.get(url_of(name, scene.world))
    client.post(url_of("absence-new", scene.world), {"member": scene.world.member.pk})
    for secret in {LEGAL, "Trainer Oakes", "Aunt 555", *PHONES.values()}:
        assert secret not in "".join(
            r.getMessage() for r in caplog.records if not r.name.startswith("django.db")
        )


def test_the_code_page_names_nobody(scene: Scene) -> None:
    client = client_of(scene.cast, "visitor")
    texts = {
        number: steady(text_of(client.get(reverse("code", args=[lineup.code]))))
        for number, lineup in ((1, scene.first), (2, scene.second))
    }
    assert "Replaced by revision 2" in texts[1] and "<h1>Current</h1>" in texts[2]
    for text in texts.values():
        for member in Member.objects.all():
            assert member.name not in text
        for word in (scene.world.event.name, "1-3", "Rank", "Tidewheel", "2099-"):
            assert word not in text
    draft = open_draft(actor=scene.cast.staff, event=scene.world.event)
    assert client.get(reverse("code", args=[draft.code])).status_code == 404


def test_a_rank_leader_reads_unavailable_and_who_covers(scene: Scene) -> None:
    """Limited, out, not cleared: the leader reads one and the same word."""
    text = text_of(client_of(scene.cast, "leader").get(reverse("my-rank")))
    people = text[text.index("<h2>People</h2>") :]
    for name, state in (
        ("Cai Ørnberg", "unavailable"),
        ("Dee Quill", "unavailable"),
        ("Eno Farrow", "doubtful"),
        ("Bo Larkspur", "available"),
    ):
        line = next(li for li in people.split("<li>") if name in li)
        assert f">{state}</span>" in line, line
    assert "stands in for Cai Ørnberg" in text
    assert "Gus Tamm" not in text, "only the own rank"


def test_phones_are_for_the_own_rank_leader_unless_opted_out(scene: Scene) -> None:
    def shown() -> set[str]:
        text = text_of(client_of(scene.cast, "leader").get(reverse("my-rank")))
        return {name for name, phone in PHONES.items() if phone in text}

    assert shown() == {"Cai Ørnberg"}, "Bo opted out, Hal is of another rank"
    person = scene.world.member.person
    person.refresh_from_db()
    person.share_contact = False
    person.save()
    assert shown() == set()


def test_a_leader_of_two_ranks_sees_the_phones_of_both(scene: Scene) -> None:
    rank = scene.world.band.ranks["2"]
    rank.leader = Member.objects.get(person__user=scene.cast.leader)
    rank.save()
    text = text_of(client_of(scene.cast, "leader").get(reverse("my-rank")))
    assert PHONES["Cai Ørnberg"] in text and PHONES["Hal Brook"] in text


def test_one_sees_what_is_kept_of_oneself(scene: Scene) -> None:
    client = client_of(scene.cast, "member")
    me, absences = (text_of(client.get(reverse(n))) for n in ("me", "my-absences"))
    assert LEGAL in me and "Cleared to march" in me and "Aunt 555-0902" in me
    assert "health" in absences
    other = text_of(client_of(scene.cast, "other").get(reverse("me")))
    assert LEGAL not in other


# Looking at what is private is noted.


def looks(user_id: int, row: object = None) -> list[str]:
    """What the account looked at, by the audit."""
    found = AuditEntry.objects.filter(op=AuditEntry.Op.VIEW, actor_id=user_id)
    if row is not None:
        found = found.filter(row_id=str(row))
    return list(found.order_by("id").values_list("action", flat=True))


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("member-emergency", "look at emergency contact"),
        ("member-edit", "look at emergency contact"),
        ("member", "look at clearance and eligibility"),
        ("member-standing", "look at clearance and eligibility"),
        ("member-absences", "look at absence reasons"),
    ],
)
def test_each_look_at_a_member_is_noted(scene: Scene, name: str, what: str) -> None:
    client, pk = client_of(scene.cast, "staff"), scene.world.member.pk
    url = url_of(name, scene.world)
    client.get(url)
    assert looks(scene.cast.staff.pk, pk) == [what]
    client.get(url)
    assert looks(scene.cast.staff.pk, pk) == [what] * 2, "every look, not only the first"
    if name in ("member-edit", "member-standing"):
        client.post(url)
        assert looks(scene.cast.staff.pk, pk) == [what] * 3, "an empty form shows it as well"


@pytest.mark.parametrize("name", ["absences", "audit"])
def test_each_look_at_a_list_is_noted(scene: Scene, name: str) -> None:
    client = client_of(scene.cast, "staff")
    client.get(url_of(name, scene.world))
    assert len(looks(scene.cast.staff.pk, "list")) == 1


def test_an_audit_page_without_private_changes_notes_nothing(scene: Scene) -> None:
    client = client_of(scene.cast, "staff")
    client.get(url_of("audit", scene.world), {"q": "no such action"})
    assert not looks(scene.cast.staff.pk)


@pytest.mark.parametrize("name", ["members", "absences"])
@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_each_export_of_private_fields_is_noted(scene: Scene, name: str, form: str) -> None:
    client = client_of(scene.cast, "staff")
    assert client.get(reverse("export", args=[name, form])).status_code == 200
    assert looks(scene.cast.staff.pk)


def test_exports_hold_no_emergency_contact(scene: Scene) -> None:
    client = client_of(scene.cast, "staff")
    for name in ("members", "ranks", "alternates", "absences", "lineups"):
        text = client.get(reverse("export", args=[name, "csv"])).content.decode()
        assert "Aunt 555" not in text, name


def test_the_published_lineups_export_says_no_reason(scene: Scene) -> None:
    text = client_of(scene.cast, "staff").get(reverse("export", args=["lineups", "csv"]))
    lines = text.content.decode()
    assert "Ida Voss" in lines or "Jon Pell" in lines
    assert not STATE_WORDS.search(lines) and not REASON_WORDS.search(lines)


def test_nobody_who_may_not_march_is_pinned(scene: Scene) -> None:
    world, client = scene.world, client_of(scene.cast, "staff")
    before = world.event.pins.count()
    for name in ("Dee Quill", "Gus Tamm", "Cai Ørnberg"):
        member = world.band.members[name]
        client.post(url_of("order", world), {"what": "pin", "member": member.pk})
    assert world.event.pins.count() == before


def _forms(role: str) -> Iterator[str]:
    yield from (n for n, row in TABLE.items() if role in row.allowed.split() and row.get == "ok")


@pytest.mark.parametrize("role", ["gear", "evaluator", "leader", "member", "other"])
def test_no_form_of_others_asks_why(scene: Scene, role: str) -> None:
    client = client_of(scene.cast, role)
    for name in _forms(role):
        text = text_of(client.get(url_of(name, scene.world)))
        asked = re.findall(
            r'name="(category|review_date|chance|reason|cleared\w*|eligible\w*)"', text
        )
        assert not asked, f"{name}: {asked}"


def test_lineup_readers_are_the_roles_of_the_design(scene: Scene) -> None:
    """Files and API of published lineups open to readers only, names and all."""
    url = url_of("file", scene.world)
    for role in OTHERS:
        got = outcome(client_of(scene.cast, role).get(url))
        assert (got == "ok") == (role in READERS.split()), role


def test_own_reports_reach_staff_without_a_reason(scene: Scene) -> None:
    absence = Absence.objects.get(pk=scene.world.absence.pk)
    assert (absence.category, absence.review_date) == ("", None)
