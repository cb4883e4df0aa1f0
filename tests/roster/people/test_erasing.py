"""Whoever asks to be forgotten is in no table, no text of the audit and no file; counts stay."""

from __future__ import annotations

import datetime
import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded
from bandops.lib.erasing.texts import Scrub
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.ties import EACH_MINUTE
from drill.absences.models import Absence
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from roster.equipment.models import Measurement
from roster.people.enums import MemberStatus
from roster.people.models import Member, Person
from roster.people.services.erasing import erase_again, erase_person
from roster.people.services.people import change_member
from roster.people.services.retention import CONTACT_DAYS, let_go
from tests.architecture.world import client_of
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

pytestmark = pytest.mark.django_db
PHONES = ("555-0134", "555-0178")
TEXTS = ("Cai Ørnberg", "Kai Nightjar", "S-40417", "cai@home.example", "Ingrid 555-0199", *PHONES)


@pytest.fixture
def lived(band: Band, cast: Cast) -> Member:
    """Cai, of whom much is kept: published, told, changed, printed; now released."""
    cai, staff = band.members["Cai Ørnberg"], cast.staff
    for phone, name in zip(PHONES, ("Kai Nightjar", ""), strict=True):
        change_member(
            actor=staff,
            member=cai,
            person_values={
                "used_name": name,
                "student_number": "S-40417",
                "email": "cai@home.example",
            },
            values={"phone": phone, "emergency_contact": "Ingrid 555-0199"},
        )
        cai.refresh_from_db()
    draft = open_draft(actor=staff, event=band.event)
    publish_lineup(actor=staff, event=band.event, seen_version=draft.version, seen_number=None)
    made = Artifact(key="k", group="g", title="Lineup", filename="a.pdf", size=4)
    made.file.save("a.pdf", ContentFile(b"%PDF of Cai"), save=True)
    ImportUpload.objects.create(kind="members", filename="x.csv", content=b"Cai", by=staff)
    with recorded(staff, "change status"):
        Member.objects.filter(pk=cai.pk).update(status=MemberStatus.LEFT)
    return Member.objects.get(pk=cai.pk)


def everything() -> dict[str, str]:
    """Each table, whole, as text; packed sessions are left out."""
    found = {}
    for model in apps.get_models(include_auto_created=True):
        if model is not Session:
            rows = list(model._base_manager.values())
            found[model._meta.db_table] = json.dumps(rows, default=str, ensure_ascii=False)
    return found


def counts() -> Counter[str]:
    tables = apps.get_models(include_auto_created=True)
    return Counter({m._meta.db_table: m._base_manager.count() for m in tables})


def where(text: str) -> list[str]:
    return sorted(table for table, rows in everything().items() if text in rows)


@pytest.mark.postgres("JSON columns are searched as text")
def test_nothing_of_them_is_left_anywhere(
    lived: Member, cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    assert all(where(text) for text in TEXTS), "there is something to erase"
    (made,) = Artifact.objects.all()
    path, before = Path(made.file.path), counts()
    with django_capture_on_commit_callbacks(execute=True):
        erased = erase_person(actor=cast.director, person=lived.person)
    assert {text: where(text) for text in TEXTS} == {text: [] for text in TEXTS}
    assert not path.exists() and erased.prints == 1 and erased.left == ()
    after = counts()
    gone = {"lib_artifact", "lib_importupload"}
    assert {t for t in before if after[t] < before[t]} == gone, "no row that counts is lost"
    lived.refresh_from_db()
    assert lived.name == f"Erased person {lived.person_id}" and lived.phone == ""
    entries = AuditEntry.objects.filter(action="erase person")
    assert entries.exists() and all(e.actor_id == cast.director.pk for e in entries)


def test_their_account_is_closed_and_their_own_deeds_have_no_name(
    lived: Member, cast: Cast
) -> None:
    client = client_of(cast, "member")
    with recorded(cast.member, "sign in"):
        cast.member.joined_at = timezone.now()
        cast.member.save()
    erase_person(actor=cast.director, person=lived.person)
    cast.member.refresh_from_db()
    assert not cast.member.is_active and cast.member.email.endswith("@erased.invalid")
    assert client.get(reverse("me")).status_code == 302
    labels = set(AuditEntry.objects.filter(actor_id=cast.member.pk).values_list("actor_label"))
    assert labels == {(f"Erased person {lived.person_id}",)}


def test_a_namesake_keeps_what_is_theirs(lived: Member, band: Band, cast: Cast) -> None:
    other = Person.objects.create(legal_name="Cai Ørnberg", student_number="S-9")
    erased = erase_person(actor=cast.director, person=lived.person)
    other.refresh_from_db()
    assert other.legal_name == "Cai Ørnberg" and erased.left == ("Cai Ørnberg",)
    own = AuditEntry.objects.filter(table="people_person", row_id=str(lived.person_id))
    assert own.exists()
    assert not [
        e for e in own if "Cai Ørnberg" in json.dumps([e.before, e.after], ensure_ascii=False)
    ]
    assert not where("S-40417")


def test_who_is_in_the_band_is_released_first(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="release them first"):
        erase_person(actor=cast.director, person=band.members["Ida Voss"].person)


def test_an_older_backup_does_not_bring_them_back(
    lived: Member, cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    """As a restore does it: the database is of before, the list on the disk of today."""
    before = {f.attname: getattr(lived.person, f.attname) for f in Person._meta.concrete_fields}
    with django_capture_on_commit_callbacks(execute=True):
        erase_person(actor=cast.director, person=lived.person)
    Person.objects.filter(pk=lived.person_id).update(**before)
    assert where("S-40417")
    call_command("sweep_jobs")
    assert not where("S-40417")
    assert erase_again() == 0, "once is enough"


def test_who_has_got_the_number_of_somebody_erased_is_left_alone(
    lived: Member, cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    """A restore sets numbers back: the next person may be given one that is on the list."""
    with django_capture_on_commit_callbacks(execute=True):
        erase_person(actor=cast.director, person=lived.person)
    path = Path(settings.MEDIA_ROOT) / ".erased"
    known = json.loads(path.read_text())
    new = Person.objects.create(legal_name="Nova Reed", student_number="N-1")
    path.write_text(json.dumps(known | {str(new.pk): known[str(lived.person_id)]}))
    call_command("sweep_jobs")
    new.refresh_from_db()
    assert new.legal_name == "Nova Reed"


def test_what_was_refused_is_not_done_later(
    lived: Member, cast: Cast, django_capture_on_commit_callbacks: Any
) -> None:
    """The action fails after the last word: nothing on the disk remembers it."""
    with (
        django_capture_on_commit_callbacks(execute=True),
        pytest.raises(RuntimeError),
        transaction.atomic(),
    ):
        erase_person(actor=cast.director, person=lived.person)
        raise RuntimeError
    call_command("sweep_jobs")
    assert where("S-40417")


def test_others_words_stay_as_they_are(lived: Member, band: Band, cast: Cast) -> None:
    """A first name, a short number, a common contact may be anybody's."""
    Person.objects.filter(pk=lived.person_id).update(used_name="Kai", student_number="1001")
    Member.objects.filter(pk=lived.pk).update(emergency_contact="Mom")
    ida = band.members["Ida Voss"]
    change_member(
        actor=cast.staff,
        member=ida,
        person_values={"legal_name": "Kai Lopez", "used_name": ""},
        values={"emergency_contact": "Mom of Kai, 1001 Elm St"},
    )
    erase_person(actor=cast.director, person=Person.objects.get(pk=lived.person_id))
    ida.refresh_from_db()
    assert ida.person.legal_name == "Kai Lopez"
    assert ida.emergency_contact == "Mom of Kai, 1001 Elm St"


def test_a_body_and_a_reason_are_forgotten(lived: Member, band: Band, cast: Cast) -> None:
    Member.objects.filter(pk=lived.pk).update(status=MemberStatus.ACTIVE)
    lived.refresh_from_db()
    make_store_rows(band.season, cast.staff, lived, band.members["Ida Voss"])
    Member.objects.filter(pk=lived.pk).update(status=MemberStatus.LEFT)
    absence = Absence.objects.create(member=lived, kind="out", category="illness", event=band.event)
    assert Measurement.objects.filter(person=lived.person).exists()
    erase_person(actor=cast.director, person=lived.person)
    assert not Measurement.objects.filter(person=lived.person).exists()
    absence.refresh_from_db()
    assert absence.category == "" and absence.kind == "out"


def test_a_failure_of_a_room_does_not_keep_jobs_waiting(
    lived: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails() -> None:
        raise RuntimeError("a room")

    monkeypatch.setattr(EACH_MINUTE, "joined", [fails])
    call_command("sweep_jobs")


def test_the_director_types_the_name_and_nobody_else_may(lived: Member, cast: Cast) -> None:
    url = reverse("member-erase", args=[lived.pk])
    assert client_of(cast, "staff").get(url).status_code == 403
    director = client_of(cast, "director")
    wrong = director.post(url, {"name": "somebody"})
    assert "not the name above" in wrong.content.decode()
    done = director.post(url, {"name": "cai ornberg"}, follow=True).content.decode()
    assert "They are erased" in done and "Undo" not in done
    assert (
        f"Erased person {lived.person_id}"
        in director.get(reverse("member", args=[lived.pk])).content.decode()
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Ana Ruiz in 4-11", "X in 4-11"),
        ("Anatole and Ana Ruizova", "Anatole and Ana Ruizova"),
        ("(Ana Ruiz)", "(X)"),
        ("ANA RUIZ, today", "X, today"),
        ("a+b@c.example wrote", "Y wrote"),
    ],
)
def test_whole_texts_only(text: str, said: str) -> None:
    scrub = Scrub({"Ana Ruiz": "X", "a+b@c.example": "Y"})
    assert scrub.text(text) == said
    assert scrub.value({"k": [text, 1, None]}) == {"k": [said, 1, None]}


def test_old_contacts_and_names_go_by_the_rules(lived: Member, cast: Cast) -> None:
    season = lived.season
    today = season.ends + datetime.timedelta(days=CONTACT_DAYS + 2)
    type(season).objects.filter(pk=season.pk).update(is_current=False)
    done = let_go(actor=cast.director, today=today)
    assert done.people == [] and not where(PHONES[0]) and not where("Ingrid 555-0199")
    assert where("S-40417"), "names are kept longer"
    Member.objects.exclude(pk=lived.pk).update(status=MemberStatus.LEFT)
    done = let_go(actor=cast.director, today=today + datetime.timedelta(days=366 * 7))
    assert lived.person in done.people and not where("S-40417")


def test_the_command_says_first_what_it_would_do(lived: Member, capsys: Any) -> None:
    today = timezone.localdate()
    starts = today - datetime.timedelta(days=100)
    seasons = type(lived.season).objects
    seasons.update(is_current=False, starts=starts, ends=today)
    seasons.create(name="Next", band_name="B", starts=today, ends=today, is_current=True)
    call_command("retention", "--years", "1")
    assert "contacts of 0 members" in capsys.readouterr().out
    assert where("S-40417")
