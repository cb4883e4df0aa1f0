"""The lists of the store as files, brought in and taken out by whoever keeps it."""

from __future__ import annotations

import uuid

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.imports.models import ImportBatch, ImportUpload
from roster.equipment.models import Issue, Item
from roster.people.models import Member
from tests.architecture.world import client_of
from tests.factories import Band, Cast
from tests.factories.store import Store
from tests.lib.imports_help import accept_file, csv_file, words
from tests.lib.review_desk import Reviewer

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

OURS = ["equipment-kinds", "equipment-items", "measurements", "issues"]
JACKETS = csv_file(["tag", "kind", "chest", "sleeve"], ["J-9", "Jacket", "46", "35"])


@pytest.fixture
def manager(cast: Cast) -> Client:
    return client_of(cast, "equipment")


def test_the_keeper_is_offered_the_stores_lists_alone(store: Store, manager: Client) -> None:
    page = manager.get(reverse("imports"))
    assert [kind.key for kind in page.context["kinds"]] == OURS
    assert [export.name for export in page.context["exports"]] == OURS
    assert "Words learned" not in words(page)
    assert [k.key for k in manager.get(reverse("import-columns")).context["kinds"]] == OURS


def test_the_keeper_brings_items_in_and_takes_that_back(store: Store, manager: Client) -> None:
    desk = Reviewer(manager, "equipment-items", JACKETS)
    assert "1 added" in desk.save()
    assert Item.objects.filter(tag="J-9").exists()
    made = ImportBatch.objects.get()
    manager.post(reverse("import-undo", args=[made.pk]))
    assert not Item.objects.filter(tag="J-9").exists()


def test_other_lists_are_not_the_keepers(
    band: Band, store: Store, cast: Cast, manager: Client
) -> None:
    members = accept_file(
        "members", csv_file(["name", "part"], ["Lark Pell", "clarinet"]), band.season, cast.staff
    )
    upload = ImportUpload.objects.create(
        kind="members", filename="members.csv", content=JACKETS, by=cast.equipment
    )
    asked = [
        manager.get(reverse("import-upload", args=["members"])),
        manager.get(reverse("export", args=["members", "csv"])),
        manager.get(reverse("import-words")),
        manager.get(reverse("import-review", args=[upload.pk])),
        manager.post(reverse("import-sheets", args=[upload.pk]), {"kind": "ranks", "sheet": ""}),
        manager.post(reverse("import-undo", args=[members.pk])),
    ]
    assert [page.status_code for page in asked] == [403] * len(asked)
    assert Member.objects.filter(person__legal_name="Lark Pell").exists()
    assert manager.get(reverse("export", args=["none", "csv"])).status_code == 404


def test_a_file_with_columns_of_other_lists_asks_for_none_of_them(
    store: Store, manager: Client
) -> None:
    """Staff would be offered the rest as members; the keeper is done."""
    rows = csv_file(
        ["tag", "kind", "chest", "sleeve", "name", "part"],
        ["J-9", "Jacket", "46", "35", "Lark Pell", "clarinet"],
    )
    desk = Reviewer(manager, "equipment-items", rows)
    assert "1 added" in desk.save()
    assert desk.page.request["PATH_INFO"] == reverse("imports")


def test_members_are_named_and_not_numbered_for_the_keeper(
    band: Band, store: Store, cast: Cast, manager: Client
) -> None:
    cai = band.members["Cai Ørnberg"]
    cai.person.student_number = "0044170"
    cai.person.save()
    manager.post(
        reverse("equipment-hand-out"), {"key": uuid.uuid4(), "tag": "J-1", "member": cai.pk}
    )
    assert Issue.objects.filter(member=cai).exists()
    staff = client_of(cast, "staff")
    for name in ("measurements", "issues"):
        url = reverse("export", args=[name, "csv"])
        theirs, all_of_it = (client.get(url).content.decode() for client in (manager, staff))
        assert "0044170" in all_of_it
        assert "0044170" not in theirs and "Cai Ørnberg" in theirs


def test_a_list_of_items_asks_no_more_for_more_of_them(
    band: Band, store: Store, manager: Client
) -> None:
    url = reverse("export", args=["equipment-items", "csv"])
    counts = []
    for tags in ([], ["J-1", "J-2", "J-3", "H-1"]):
        for tag in tags:
            store.give(tag, band.members["Cai Ørnberg"])
        with CaptureQueriesContext(connection) as asked:
            content = manager.get(url).content.decode()
        counts.append(len(asked))
        assert content.count("Cai Ørnberg") == len(tags)
    assert counts[0] == counts[1]
