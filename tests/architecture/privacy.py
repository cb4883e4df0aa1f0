"""A published lineup with private facts behind it, and what of them shows to whom."""

from __future__ import annotations

import datetime
import html
import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from urllib.parse import urlencode, urljoin

from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.audit.models import AuditEntry
from bandops.lib.outbox.models import Artifact
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.calendars.models import CalendarFeed
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from drill.lineup.sheets import sheets
from roster.people.models import Member
from tests.answers import Response
from tests.architecture.access_table import TABLE
from tests.architecture.world import World, client_of, make_world, publish, url_of
from tests.factories import Band, Cast, make_band, make_cast
from tests.reading import without_tokens

OTHERS = ("equipment", "evaluator", "leader", "member", "other", "outsider", "visitor")
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
BY_NAME = {("evaluator", "/music/")}
"""where the nameless meet names: evaluators hear members pass their music"""
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
    for user in {cast.named(role) for role in (*OTHERS, "director")}:
        if user is not None:
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


def text_of(response: Response) -> str:
    """Everything the response says: markup and attributes, JSON, the text of a PDF; without tokens
    and parts of seconds, which hold any figure now and then."""
    return PARTS.sub("", without_tokens(_said(response)))


def _said(response: Response) -> str:
    content = response.getvalue()
    kind = response.get("Content-Type", "")
    if kind.startswith("application/pdf") and content[:4] == b"%PDF":
        return printed_text(content)
    if kind.startswith("application/json"):
        return json.dumps(json.loads(content), ensure_ascii=False)
    if kind.startswith("text/calendar"):
        content = content.replace(b"\r\n ", b"")
    return html.unescape(content.decode("utf-8", "replace"))


PARTS = re.compile(r"(?<=:[0-9]{2})\.[0-9]+")
"""of seconds"""


@lru_cache(maxsize=100)
def printed_text(content: bytes) -> str:
    """What a print says; each role comes upon the same ones."""
    reader = PdfReader(io.BytesIO(content))
    return f"{reader.metadata}\n" + "\n".join(page.extract_text() for page in reader.pages)


LINK = re.compile(r'(?:href|hx-get|src)="([^"#]+)"')


def crawl(client: Client, scene: Scene) -> Iterator[tuple[str, str]]:
    """Every page the client gets to: all addresses, searches on them, prints, and all links."""
    world = scene.world
    # Of calendars one's own only, which its page leads to: the address is the key.
    waiting = [url_of(name, world) for name in TABLE if name not in ("sign-out", "calendar-feed")]
    waiting += [reverse("file", args=[pk]) for pk in Artifact.objects.values_list("pk", flat=True)]
    seen: set[str] = set()
    while waiting:
        url = waiting.pop(0)
        if url in seen or url.startswith("/static/"):
            continue
        seen.add(url)
        response = client.get(url)
        text = text_of(response)
        yield url, text
        if response.status_code == 200 and "?" not in url:
            typed = SEARCHES if url == reverse("search") else SEARCHES[:1]
            waiting += [f"{url}?{urlencode({'q': word, 'status': 'all'})}" for word in typed]
        if response.status_code in (301, 302):
            waiting.append(urljoin(url, response["Location"]))
        for link in LINK.findall(text):
            target = urljoin(url, link)
            if target.startswith("/"):
                waiting.append(target)


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
        texts += [m.name for m in members] + ["Jon Pell", "1-3", "Pellowick"]
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
    names = {m.name for m in Member.objects.all()}
    found = []
    for url, text in crawl(client_of(scene.cast, role), scene):
        path = url.split("?")[0]
        mine = path in OWN_PAGES
        shown = own if mine else names if (role, path) in BY_NAME else set()
        found += [f"{role} {url}: {t}" for t in private if t in text and t not in shown]
        if mine or path in ("/api/schema/", "/sign-in/"):
            continue
        for words in (STATE_WORDS, REASON_WORDS):
            found += [f"{role} {url}: {m}" for m in words.findall(text)]
        if role != "leader" and path not in REPORT_FORMS:
            found += [f"{role} {url}: {m}" for m in re.findall(r"\b(limited|doubtful)\b", text)]
    return set(found)


def looks(user_id: int, row: object = None) -> list[str]:
    """What the account looked at, by the audit."""
    found = AuditEntry.objects.filter(op=AuditEntry.Op.VIEW, actor_id=user_id)
    if row is not None:
        found = found.filter(row_id=str(row))
    return list(found.order_by("id").values_list("action", flat=True))
