"""Every address, every role, GET and POST: who gets in. The expectations are the design's."""

from __future__ import annotations

import pytest

from bandops.lib.audit.models import AuditEntry
from tests.architecture.access_table import TABLE, sliced
from tests.architecture.world import (
    ROLES,
    World,
    all_names,
    client_of,
    outcome,
    undone,
    url_of,
)
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


def test_every_address_has_a_row() -> None:
    names = all_names()
    assert len(names) == len(set(names)), "two addresses share a name"
    assert set(names) == set(TABLE)


@pytest.mark.parametrize("parts", [1, 2, 3])
def test_walks_in_parts_leave_no_address_out(parts: int) -> None:
    walked = [name for part in sliced(parts) for name in part.values[0]]
    assert sorted(walked) == sorted(TABLE)


@pytest.mark.parametrize("names", sliced(3))
@pytest.mark.parametrize("role", ROLES)
def test_who_gets_in(worlds: tuple[World, World, Cast], role: str, names: list[str]) -> None:
    world, _, cast = worlds
    client = client_of(cast, role)
    cookies = client.cookies.copy()
    wrong = []
    for name in names:
        for method in ("GET", "POST"):
            with undone():
                client.cookies = cookies.copy()  # type: ignore[assignment]
                before = AuditEntry.objects.count()
                got = outcome(client.generic(method, url_of(name, world)))
                wrote = AuditEntry.objects.count() - before
            expected = TABLE[name].expected(role, method)
            if got != expected or (wrote and expected not in ("ok", "sign-in")):
                wrong.append(f"{method} {name}: {got}, not {expected}; {wrote} rows written")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("names", sliced(2))
def test_pages_answer_only_to_reading_and_posting(
    worlds: tuple[World, World, Cast], names: list[str]
) -> None:
    """Any other method could show a form without the look being noted."""
    world, _, cast = worlds
    client = client_of(cast, "staff")
    for name in names:
        if TABLE[name].visitor == "401":
            continue  # the API has its own methods
        for method in ("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"):
            response = client.generic(method, url_of(name, world))
            assert response.status_code == 405, f"{method} {name}"


@pytest.mark.postgres("NUL and numbers too large for a column")
@pytest.mark.parametrize("names", sliced(2))
@pytest.mark.parametrize("junk", ["²", "9" * 40, "\0", "-1 <b>"])
def test_nonsense_breaks_no_page(
    worlds: tuple[World, World, Cast], junk: str, names: list[str]
) -> None:
    """What cannot be meant is refused or ignored, never a server error."""
    world, _, cast = worlds
    fields = (
        "member version number segment spot dot part q page set status view what scope kind "
        "rank show state key noted_at settles first_set last_set "
        f"paper only decision order next standing-{junk} event date on leader"
    )
    data = dict.fromkeys(fields.split(" "), junk)
    client = client_of(cast, "director")
    cookies = client.cookies.copy()
    for name in names:
        for send in (client.get, client.post):
            client.cookies = cookies.copy()  # type: ignore[assignment]  # one of them signs out
            with undone():
                assert send(url_of(name, world), data).status_code < 500, name
