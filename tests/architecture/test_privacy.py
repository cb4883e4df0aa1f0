"""The private reason: what nobody but staff and oneself may read in mails, lists and logs."""

from __future__ import annotations

import json

import pytest
from django.core import mail
from django.urls import reverse

from drill.absences.models import Absence
from drill.lineup.models import LineupRow
from drill.lineup.services.drafts import open_draft
from drill.publishing.models import Notice
from drill.publishing.services.sending import send_notice
from roster.people.models import Member
from tests.architecture.privacy import (
    LEGAL,
    PHONES,
    REASON_WORDS,
    STATE_WORDS,
    Scene,
    make_scene,
    private_texts,
    text_of,
)
from tests.architecture.world import client_of, url_of
from tests.reading import steady

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


def test_mails_say_what_changed_and_never_why(scene: Scene) -> None:
    for notice in Notice.objects.all():
        send_notice(notice.pk)
    assert len(mail.outbox) >= 8
    leaders = {scene.world.band.members[n].person.email for n in ("Ana Núñez", "Fay Ashgrove")}
    for message in mail.outbox:
        text = f"{message.subject}\n{message.body}"
        assert not STATE_WORDS.search(text) and not REASON_WORDS.search(text), text
        for secret in {*private_texts(scene, "equipment")} - {""}:
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
        cures = row.reason.get("cures", [])
        named = {m for c in cures for m in c.get("members", [c.get("member", "")])}
        assert not named & not_cleared, "the tool never proposes clearing anyone"


def test_logs_hold_no_private_text(db: None, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("DEBUG")
    scene = make_scene()
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


def test_a_rank_leader_reads_unavailable_and_who_the_backups_are(scene: Scene) -> None:
    """Limited, out, not cleared: the leader reads one and the same word."""
    text = text_of(client_of(scene.cast, "leader").get(reverse("my-rank")))
    people = text[text.index("<summary>People") :]
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


def test_own_reports_reach_staff_without_a_reason(scene: Scene) -> None:
    absence = Absence.objects.get(pk=scene.world.absence.pk)
    assert (absence.category, absence.review_date) == ("", None)
