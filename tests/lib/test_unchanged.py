"""What is kept while nothing is written, and what is not."""

from __future__ import annotations

import pytest
from django.db import transaction
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded
from bandops.lib.audit.unchanged import MOST_KEPT, while_unchanged

pytestmark = pytest.mark.django_db(transaction=True)


class Reader:
    """Counts how often something was read."""

    def __init__(self, key: object, *besides: str) -> None:
        self.key, self.besides, self.times = key, besides, 0

    def __call__(self) -> int:
        return while_unchanged(("read", self.key), self._read, self.besides)

    def _read(self) -> int:
        self.times += 1
        return self.times


@pytest.fixture
def somebody() -> User:
    with recorded(None, "invite"):
        return User.objects.create(email="ana@quillwater.example", name="Ana")


def test_what_is_read_is_kept_until_something_is_written(somebody: User) -> None:
    read = Reader(1)
    assert [read(), read()] == [1, 1]
    with recorded(somebody, "rename"):
        User.objects.filter(pk=somebody.pk).update(name="Ana Ruiz")
    assert [read(), read()] == [2, 2]


def test_tables_that_it_does_not_depend_on_do_not_count(somebody: User) -> None:
    read = Reader("besides", "lib_user", "lib_session")
    AuditEntry.objects.create(at=timezone.now(), table="ranks", row_id="1", op="update")
    assert read() == 1
    with recorded(somebody, "rename"):
        User.objects.filter(pk=somebody.pk).update(name="Ana Ruiz")
    assert read() == 1
    AuditEntry.objects.create(at=timezone.now(), table="spots", row_id="1", op="update")
    assert read() == 2


def test_within_a_transaction_everything_is_read_anew(somebody: User) -> None:
    read = Reader(2)
    with transaction.atomic():
        assert [read(), read()] == [1, 2]
    assert read() == 3, "nothing of a transaction is kept"


def test_an_entry_that_appears_late_counts(somebody: User) -> None:
    """A transaction that began earlier may end later: its entries have lower numbers."""
    newest = AuditEntry.objects.latest("pk").pk
    entry = {"at": timezone.now(), "table": "t", "row_id": "1", "op": "update"}
    AuditEntry.objects.create(pk=newest + 10, **entry)
    read = Reader(3)
    assert [read(), read()] == [1, 1]
    AuditEntry.objects.create(pk=newest + 5, **entry)
    assert read() == 2


def test_a_write_while_reading_is_not_missed(somebody: User) -> None:
    def read() -> str:
        name = User.objects.get(pk=somebody.pk).name
        with recorded(somebody, "rename"):
            User.objects.filter(pk=somebody.pk).update(name=f"{name}!")
        return name

    assert while_unchanged("slow", read) == "Ana"
    assert while_unchanged("slow", read) == "Ana!"


def test_only_the_newest_are_kept(somebody: User) -> None:
    readers = [Reader(("many", n)) for n in range(MOST_KEPT + 1)]
    for read in readers:
        read()
    assert readers[-1]() == 1
    assert readers[0]() == 2
