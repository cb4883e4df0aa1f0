"""The practice log of a rehearsal's page."""

from __future__ import annotations

import html
import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from drill.events.models import Event
from drill.rehearsals.models import PracticeEntry
from drill.rehearsals.services.practice import sets_of
from tests.architecture.markup import Markup
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsal_pages import assistant_account, rehearsal, text, url
from tests.drill.rehearsals.rehearsing import tidewheel
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = pytest.mark.django_db


def test_the_practice_log_is_one_tap_and_is_taken_back_by_its_writer(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    jon, spot = band.members["Jon Pell"], band.spots["1-3"]
    spot.backups.create(member=jon, order=1)
    leader = client_of(cast, "leader")
    page = text(leader, url("practice", rehearsal))
    start = page.index(f'id="m{jon.pk}"')
    section = page[start : page.index("</section>", start)]
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', section))
    sets = sets_of({tidewheel(band).pk})[tidewheel(band).pk]
    first, last = sets[0], sets[-1]
    assert f'<option value="{last.pk}" selected>2A</option>' in section, "to the last, as printed"
    assert f'<option value="{first.pk}">1</option>' in section
    for _ in range(2):
        chosen = {"first_set": first.pk, "last_set": last.pk}
        leader.post(url("practice", rehearsal), {**fields, **chosen})
    entry = PracticeEntry.objects.get()
    assert (entry.member, entry.spot, list(entry.sets.order_by("order"))) == (jon, spot, sets)
    assert "sets 1 to 2A" in text(leader, url("practice", rehearsal))
    remove = reverse("practice-remove", args=[entry.pk])
    assistant = Client()
    assistant.force_login(
        assistant_account(band), backend="django.contrib.auth.backends.ModelBackend"
    )
    assert "Take back" not in text(assistant, url("practice", rehearsal))
    assert assistant.post(remove).status_code == 403
    assert leader.post(remove).status_code == 302
    assert not PracticeEntry.objects.exists()


def test_a_leader_logs_only_what_touches_the_own_rank(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    client, show = client_of(cast, "leader"), tidewheel(band)

    def log(name: str, spot: str) -> int:
        ids = {"member": band.members[name].pk, "spot": band.spots[spot].pk, "show": show.pk}
        return client.post(url("practice", rehearsal), {**ids, "key": uuid.uuid4()}).status_code

    assert log("Kit Moss", "2-2") == 403
    assert log("Kit Moss", "1-3") == 302, "another rank's alternate at a spot of this one"
    assert log("Jon Pell", "2-2") == 302, "the own alternate at another rank's spot"
    assert PracticeEntry.objects.count() == 2


def practice_form(page: str, start: str) -> str:
    """The form that stands after some words of the practice log."""
    begins = page.index("<form", page.index(start))
    return page[begins : page.index("</form>", begins)]


def refused_again(client: Client, event: Event, data: dict[str, object], words: str) -> str:
    """The page shown again, its refusal said once; nothing is logged."""
    response = client.post(url("practice", event), {"key": uuid.uuid4(), **data})
    assert response.status_code == 200
    page = response.content.decode()
    assert not Markup(page).faults and not PracticeEntry.objects.exists()
    assert html.unescape(page).count(words) == 1
    return html.unescape(page)


def test_a_refused_entry_keeps_what_was_chosen(rehearsal: Event, band: Band, cast: Cast) -> None:
    jon, spot, show = band.members["Jon Pell"], band.spots["1-3"], tidewheel(band)
    spot.backups.create(member=jon, order=1)
    leader = client_of(cast, "leader")
    one, two, last = (x.pk for x in sets_of({show.pk})[show.pk])
    chosen = {"rank": band.ranks["1"].pk, "member": jon.pk, "spot": spot.pk, "show": show.pk}
    cases: list[tuple[dict[str, object], str, int, int]] = [
        ({"first_set": two, "last_set": one}, "The last set comes before the first.", two, one),
        ({"first_set": two, "last_set": 10**7}, f"{show} no longer has that set", two, last),
        ({"first_set": two, "last_set": "2B"}, "“2B” is not a set: choose one", two, last),
    ]
    for sets, words, first_kept, last_kept in cases:
        page = refused_again(leader, rehearsal, {**chosen, **sets}, words)
        form = practice_form(page, f'id="m{jon.pk}"')
        assert words in form and form.count(" selected") == 2
        first, second = form.split(" to <select")
        assert f'value="{first_kept}" selected' in first
        assert f'value="{last_kept}" selected' in second
        assert '<details class="card"' in page and " open><summary>Another" not in page


def test_another_spot_keeps_what_was_chosen(rehearsal: Event, band: Band, cast: Cast) -> None:
    jon, show, rank = band.members["Jon Pell"], tidewheel(band), band.ranks["1"]
    part, wrong = band.parts["sousaphone"], band.spots["1-3"]
    type(wrong).objects.filter(pk=wrong.pk).update(part=part)
    chosen: dict[str, object] = {
        "rank": rank.pk,
        "member": jon.pk,
        "spot": wrong.pk,
        "show": show.pk,
    }
    cases: list[tuple[dict[str, object], str]] = [
        ({}, f"does not play {part}"),
        ({"spot": 10**7}, "That spot is gone"),
    ]
    cases += [({"show": ""}, "Choose a show."), ({"member": "x"}, "Choose a member.")]
    for role in ("leader", "staff"):
        for more, words in cases:
            page = refused_again(client_of(cast, role), rehearsal, chosen | more, words)
            assert f'id="another{rank.pk}" open' in page
            form = practice_form(page, f'id="another{rank.pk}"')
            assert words in form
            for name in ("member", "spot", "show"):
                if name not in more:
                    assert f'value="{chosen[name]}" selected' in form, (words, name)


def test_a_refusal_of_no_form_of_the_page_is_said_all_the_same(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    refused_again(client_of(cast, "staff"), rehearsal, {"member": 10**7}, "Choose a spot.")
    data = {"member": band.members["Jon Pell"].pk, "key": uuid.uuid4()}
    response = client_of(cast, "leader").post(
        url("practice", rehearsal), data, headers={"X-Queued": "1"}
    )
    assert response.status_code == 409 and response.json()["text"] == "Choose a spot."


@pytest.mark.parametrize("asked", ["abc", "99999999", "²", ""])
def test_a_rank_that_cannot_be_meant_is_ignored(rehearsal: Event, cast: Cast, asked: str) -> None:
    for role in ("leader", "staff"):
        client = client_of(cast, role)
        for name in ("attendance", "practice"):
            plain = re.sub(r'value="[\w-]{36,}"', "", text(client, url(name, rehearsal)))
            page = text(client, f"{url(name, rehearsal)}?rank={asked}")
            assert "Nothing here" not in page
            assert re.sub(r'value="[\w-]{36,}"', "", page).count("<form") == plain.count("<form")
