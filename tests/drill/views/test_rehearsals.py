"""The pages of a rehearsal, role by role: schedule, attendance, practice log."""

from __future__ import annotations

import html
import re
import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.models import Absence, Attendance, Event, PracticeEntry, RehearsalBlock
from drill.services.practice import sets_of
from tests.architecture.markup import Markup
from tests.architecture.world import client_of
from tests.drill.rehearsing import DAY, add_sets, clock, make_rehearsal, moment, tidewheel
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def rehearsal(band: Band) -> Iterator[Event]:
    """Seven in the evening; Eno is reported out for reasons of staff's."""
    add_sets(tidewheel(band), "1", "2", "2A")
    Absence.objects.create(
        member=band.members["Eno Farrow"],
        from_date=DAY,
        until_date=DAY,
        kind="out",
        category="family",
    )
    event = make_rehearsal(band)
    with clock(19):
        yield event


def url(name: str, event: Event) -> str:
    return reverse(name, args=[event.pk])


def text(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    page = response.content.decode()
    assert not Markup(page).faults
    return html.unescape(page)


def note(client: Client, event: Event, band: Band, name: str, state: str, **more: object) -> int:
    data = {"member": band.members[name].pk, "state": state, "key": uuid.uuid4(), **more}
    return client.post(url("attendance-note", event), data).status_code


def second_account(band: Band) -> User:
    """Bo is the second of rank 1."""
    person = band.members["Bo Larkspur"].person
    person.user = User.objects.create_user(person.email, person.name)
    person.save()
    return person.user


def row_of(page: str, band: Band, name: str) -> str:
    start = page.index(f'<li id="m{band.members[name].pk}"')
    return page[start : page.index("</li>", start)]


def test_a_member_finds_the_next_rehearsal_on_the_card(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    page = text(client_of(cast, "member"), reverse("card"))
    start = page.index('id="rehearsal"')
    assert start < page.index("not published yet"), "before anything about the game"
    section = page[start : page.index("</section>", start)]
    for words in ("Rehearsal today, 4:15 PM", "Thursday 15 October", "Mill Lane practice field"):
        assert words in section
    assert "4:30 to 6:00 PM" in section and "Halftime in full" in section
    for link in ("attendance", "practice", "call"):
        assert f"/{link}/" not in section, "the schedule only"


def test_a_leader_gets_from_the_rank_to_its_rehearsal(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    page = text(client_of(cast, "leader"), reverse("my-rank"))
    assert "Attendance today" in page
    call = reverse("call-of-rank", args=[rehearsal.pk, band.ranks["1"].pk])
    for address in (url("attendance", rehearsal), url("practice", rehearsal), call):
        assert f'href="{address}"' in page


def test_a_leader_sees_the_own_rank_and_never_why(rehearsal: Event, band: Band, cast: Cast) -> None:
    page = text(client_of(cast, "leader"), url("attendance", rehearsal))
    assert "unavailable" in row_of(page, band, "Eno Farrow")
    assert "unavailable" not in row_of(page, band, "Dee Quill")
    assert "Everybody is here (6)" in page and "0 of 7 noted" in page
    for word in ("Hal Brook", "family", "reason"):
        assert word not in page


def test_one_tap_without_javascript(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    page = text(client, url("attendance", rehearsal))
    row = row_of(page, band, "Dee Quill")
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', row))
    assert fields.keys() == {"csrfmiddlewaretoken", "member", "key"}
    for _ in range(2):
        response = client.post(url("attendance-note", rehearsal), {**fields, "state": "late"})
        assert response.status_code == 302
        assert response["Location"].startswith(url("attendance", rehearsal))
    assert Attendance.objects.get().state == "late", "the second tap of one form adds nothing"
    row = row_of(text(client, url("attendance", rehearsal)), band, "Dee Quill")
    assert 'aria-pressed="true" class="main">✓ late' in row and "Ana Núñez: late, 7:00 PM" in row


def test_one_tap_with_javascript_brings_the_row(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    data = {"member": band.members["Dee Quill"].pk, "state": "absent", "key": uuid.uuid4()}
    response = client.post(url("attendance-note", rehearsal), data, headers={"HX-Request": "true"})
    page = response.content.decode()
    assert page.startswith(f'<li id="m{band.members["Dee Quill"].pk}"') and "<h1" not in page
    assert "✓ not here" in page and 'hx-swap-oob="true"' in page
    assert "Everybody else is here (5)" in page and "1 of 7 noted" in page


def test_a_refused_tap_with_javascript_brings_the_page_again(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    client = client_of(cast, "leader")
    data = {"member": band.members["Dee Quill"].pk, "state": "ill", "key": uuid.uuid4()}
    response = client.post(url("attendance-note", rehearsal), data, headers={"HX-Request": "true"})
    assert response["HX-Refresh"] == "true" and not Attendance.objects.exists()
    assert "Choose here, late" in text(client, url("attendance", rehearsal))


def test_a_note_that_waited_for_a_signal_keeps_its_time(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    client = client_of(cast, "leader")
    made = moment(17, 2)
    assert note(client, rehearsal, band, "Dee Quill", "late", noted_at=made.isoformat()) == 302
    page = text(client, url("attendance", rehearsal))
    assert "Ana Núñez: late, 5:02 PM" in row_of(page, band, "Dee Quill"), "the rehearsal's clock"
    assert Attendance.objects.get().noted_at == made


def test_other_ranks_are_not_the_leaders(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    assert note(client, rehearsal, band, "Hal Brook", "absent") == 403
    rest = {"rank": band.ranks["2"].pk, "key": uuid.uuid4()}
    assert client.post(url("attendance-rest", rehearsal), rest).status_code == 403
    for name in ("attendance", "practice"):
        asked = f"{url(name, rehearsal)}?rank={band.ranks['2'].pk}"
        assert client.get(asked).status_code == 403
    call = reverse("call-of-rank", args=[rehearsal.pk, band.ranks["2"].pk])
    assert client.get(call).status_code == 403
    assert not Attendance.objects.exists()


def test_the_rank_leader_settles_and_the_second_does_not(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    leader, second = client_of(cast, "leader"), Client()
    second.force_login(second_account(band), backend="django.contrib.auth.backends.ModelBackend")
    note(leader, rehearsal, band, "Dee Quill", "present", noted_at=moment(18, 2).isoformat())
    note(second, rehearsal, band, "Dee Quill", "absent", noted_at=moment(18, 5).isoformat())
    for client, settles in ((leader, True), (second, False)):
        row = row_of(text(client, url("attendance", rehearsal)), band, "Dee Quill")
        assert "differs" in row
        assert "Ana Núñez: here, 6:02 PM · Bo Larkspur: not here, 6:05 PM" in row
        assert ('name="settles"' in row) is settles
    note(second, rehearsal, band, "Dee Quill", "absent", settles="1")
    assert not Attendance.objects.filter(settles=True).exists(), "a forged field settles nothing"
    note(leader, rehearsal, band, "Dee Quill", "absent", settles="1")
    row = row_of(text(second, url("attendance", rehearsal)), band, "Dee Quill")
    assert "differs" not in row and "✓ not here" in row and "settled" in row


def test_staff_read_conflicts_first_then_who_is_missing(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    leader, staff = client_of(cast, "leader"), client_of(cast, "staff")
    note(leader, rehearsal, band, "Dee Quill", "present")
    note(staff, rehearsal, band, "Dee Quill", "absent")
    note(leader, rehearsal, band, "Eno Farrow", "absent")
    note(leader, rehearsal, band, "Cai Ørnberg", "absent")
    page = text(staff, url("attendance", rehearsal))
    differing, missing, ranks = (
        page.index(f"<h2>{words}</h2>")
        for words in ("Notes that differ", "Not here, nothing reported", "By rank")
    )
    assert differing < missing < ranks
    assert "Dee Quill" in page[differing:missing]
    assert "Cai Ørnberg" in page[missing:ranks] and "Eno Farrow" not in page[missing:ranks]
    assert f"?rank={band.ranks['2'].pk}" in page[ranks:]
    listed = text(staff, reverse("rehearsals"))
    assert "0 here of 3 noted" in listed and "1 differs" in listed


def test_everybody_else_is_here(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    note(client, rehearsal, band, "Dee Quill", "late")
    data = {"rank": band.ranks["1"].pk, "key": uuid.uuid4()}
    for _ in range(2):
        client.post(url("attendance-rest", rehearsal), data)
    assert Attendance.objects.count() == 6
    page = text(client, url("attendance", rehearsal))
    assert "Everybody else" not in page and "6 of 7 noted" in page


def test_before_its_day_a_rehearsal_shows_who_is_expected(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    with clock(12, 0, DAY.replace(day=14)):
        client = client_of(cast, "leader")
        page = text(client, url("attendance", rehearsal))
        assert "opens on Thursday 15 October" in page and "<button id=" not in page
        assert "unavailable" in row_of(page, band, "Eno Farrow")
        assert note(client, rehearsal, band, "Dee Quill", "late") == 302
    assert not Attendance.objects.exists()


def test_the_practice_log_is_one_tap_and_is_taken_back_by_its_writer(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    jon, spot = band.members["Jon Pell"], band.spots["1-3"]
    spot.covers.create(member=jon, order=1)
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
    second = Client()
    second.force_login(second_account(band), backend="django.contrib.auth.backends.ModelBackend")
    assert "Take back" not in text(second, url("practice", rehearsal))
    assert second.post(remove).status_code == 403
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
    spot.covers.create(member=jon, order=1)
    leader = client_of(cast, "leader")
    one, two, last = (x.pk for x in sets_of({show.pk})[show.pk])
    chosen = {"rank": band.ranks["1"].pk, "member": jon.pk, "spot": spot.pk, "show": show.pk}
    cases = [
        ({"first_set": two, "last_set": one}, "The last set comes before the first.", two, one),
        ({"first_set": two, "last_set": 10**7}, f"{show} has no such set now", two, last),
        ({"first_set": two, "last_set": "2B"}, "“2B” is no set: choose one", two, last),
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
    chosen = {"rank": rank.pk, "member": jon.pk, "spot": wrong.pk, "show": show.pk}
    cases = [({}, f"does not play {part}"), ({"spot": 10**7}, "That spot is gone")]
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


def test_a_note_about_somebody_gone_says_so(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    data = {"member": 10**7, "state": "late", "key": uuid.uuid4()}
    came = client.post(url("attendance-note", rehearsal), data, follow=True)
    assert "That member is gone: choose again." in came.content.decode()
    came = client.post(
        url("attendance-rest", rehearsal), {"rank": 10**7, "key": uuid.uuid4()}, follow=True
    )
    assert "That rank is gone: choose again." in came.content.decode()


def test_staff_plan_blocks_on_the_rehearsal(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "staff")
    page = text(client, url("event", rehearsal))
    assert "Halftime in full" in page and 'id="block_starts"' in page
    data = {"starts": "16:30", "ends": "17:15", "what": "Brass sectionals", "where": "East lot"}
    assert client.post(url("block-new", rehearsal), data).status_code == 302
    clash = client.post(url("block-new", rehearsal), {**data, "what": "Again"})
    assert clash.status_code == 200 and b"overlaps Brass sectionals" in clash.content
    block = RehearsalBlock.objects.get(what="Brass sectionals")
    changed = client.post(reverse("block", args=[block.pk]), {**data, "what": "Brass"})
    assert changed.status_code == 302
    assert client.post(reverse("block-remove", args=[block.pk])).status_code == 302
    assert rehearsal.blocks.count() == 1
    assert client.post(url("block-new", band.event), data).status_code == 404
