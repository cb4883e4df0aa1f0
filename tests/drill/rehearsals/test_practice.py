"""The practice log: what it adds to, what it never takes away, and what it makes cheaper."""

from __future__ import annotations

import uuid

import pytest

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.backups.models import BackupPlan, Lesson
from drill.events.models import Event
from drill.learning.services.learning import learners
from drill.lineup.models import Backup
from drill.lineup.services.problem_builder import build
from drill.rehearsals.models import Practice, PracticeEntry
from drill.rehearsals.services.practice import take_back
from drill.shows.models import Dot, Position
from tests.architecture.many import write_lineup
from tests.drill.rehearsals.practice_log import log, practised, rehearsal
from tests.drill.rehearsals.rehearsing import add_sets, clock, make_rehearsal, tidewheel
from tests.factories import Band, Cast
from tests.lib.imports_help import accept_file, csv_file

__all__ = ["rehearsal"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("sums and counts over groups")]


def test_the_log_counts_distinct_sets(rehearsal: Event, band: Band, cast: Cast) -> None:
    log(rehearsal, band, cast, "Jon Pell", "1-3", first_set=1, last_set=2)
    assert practised(band, "Jon Pell", "1-3") == 2
    log(rehearsal, band, cast, "Jon Pell", "1-3", first_set=2, last_set=3)
    assert practised(band, "Jon Pell", "1-3") == 3
    everything = log(rehearsal, band, cast, "Jon Pell", "1-3")
    assert [one.label for one in everything.sets.order_by("order")] == ["1", "2", "2A", "3"]
    assert practised(band, "Jon Pell", "1-3") == 4
    assert practised(band, "Jon Pell", "1-2") is None


def test_only_sets_of_the_version_in_use_count(rehearsal: Event, band: Band, cast: Cast) -> None:
    log(rehearsal, band, cast, "Jon Pell", "1-3")
    add_sets(tidewheel(band), "1", "2")
    log(rehearsal, band, cast, "Jon Pell", "1-3", first_set=1, last_set=1)
    assert practised(band, "Jon Pell", "1-3") == 2


def test_the_same_entry_twice_is_one(rehearsal: Event, band: Band, cast: Cast) -> None:
    again = uuid.uuid4()
    first = log(rehearsal, band, cast, "Jon Pell", "1-3", key=again)
    assert log(rehearsal, band, cast, "Jon Pell", "1-3", key=again) == first
    other = log(rehearsal, band, cast, "Jon Pell", "1-3", key=again, last_set=2)
    assert other != first and PracticeEntry.objects.count() == 2


def test_what_was_told_before_is_never_lost(rehearsal: Event, band: Band, cast: Cast) -> None:
    values = {"member": band.members["Jon Pell"], "spot": band.spots["1-3"]}
    Practice.objects.create(show=tidewheel(band), sets=3, **values)
    first = log(rehearsal, band, cast, "Jon Pell", "1-3", last_set=2)
    assert practised(band, "Jon Pell", "1-3") == 3
    second = log(rehearsal, band, cast, "Jon Pell", "1-3")
    assert practised(band, "Jon Pell", "1-3") == 4
    take_back(actor=cast.staff, entry=second)
    assert practised(band, "Jon Pell", "1-3") == 3
    take_back(actor=cast.staff, entry=first)
    assert practised(band, "Jon Pell", "1-3") == 3, "as it stood before the log"


def test_a_figure_of_the_log_alone_goes_with_it(rehearsal: Event, band: Band, cast: Cast) -> None:
    entry = log(rehearsal, band, cast, "Jon Pell", "1-3")
    take_back(actor=cast.leader, entry=entry)
    assert practised(band, "Jon Pell", "1-3") is None


def test_an_import_stands_beside_the_log(rehearsal: Event, band: Band, cast: Cast) -> None:
    """What is told after the log spoke is the new figure apart from it, not a part of it."""
    entry = log(rehearsal, band, cast, "Jon Pell", "1-3", last_set=1)
    rows = (["member", "spot", "show", "sets practised"], ["Jon Pell", "1-3", "Tidewheel", 3])
    accept_file("practice", csv_file(*rows), band.season, cast.staff)
    assert practised(band, "Jon Pell", "1-3") == 3
    log(rehearsal, band, cast, "Jon Pell", "1-3", last_set=2)
    assert practised(band, "Jon Pell", "1-3") == 3
    for row in PracticeEntry.objects.all():
        take_back(actor=cast.staff, entry=row)
    assert practised(band, "Jon Pell", "1-3") == 3 and entry.pk is not None


@pytest.mark.parametrize(
    ("name", "spot", "more", "why"),
    [
        ("Dee Quill", "1-3", {}, "does not play Trumpet"),
        ("Cai Ørnberg", "1-3", {}, "holds 1-3"),
        ("Jon Pell", "1-3", {"first_set": 3, "last_set": 2}, "before the first"),
        ("Jon Pell", "1-3", {"first_set": 5}, "no longer has that set"),
    ],
)
def test_what_makes_no_sense_is_refused(
    rehearsal: Event, band: Band, cast: Cast, name: str, spot: str, more: dict[str, int], why: str
) -> None:
    with pytest.raises(Refused, match=why):
        log(rehearsal, band, cast, name, spot, **more)
    assert not PracticeEntry.objects.exists() and not Practice.objects.exists()


def test_a_show_without_sets_takes_no_entry(band: Band, cast: Cast) -> None:
    event = make_rehearsal(band)
    with clock(19), pytest.raises(Refused, match="no sets yet"):
        log(event, band, cast, "Jon Pell", "1-3")


def test_logging_makes_relearning_cheaper(rehearsal: Event, band: Band, cast: Cast) -> None:
    """The solver's cost of Jon at 1-3 falls with the share of sets worked on, Ida's stays."""
    show = tidewheel(band)
    for drill_set in show.versions.get().sets.all():
        for number, label in enumerate(("1-1", "1-2", "1-3"), 1):
            dot, _ = Dot.objects.get_or_create(show=show, label=label)
            Position.objects.create(set=drill_set, dot=dot, x=720 * number, y=0)

    def cost(name: str) -> int:
        pair = key(band.members[name].pk), key(band.spots["1-3"].pk)
        return {(m, s): c for m, s, c in build(band.event).problem.relearning}[pair]

    before = cost("Jon Pell")
    assert before == cost("Ida Voss") > 0
    log(rehearsal, band, cast, "Jon Pell", "1-3", first_set=1, last_set=2)
    assert cost("Jon Pell") == round(before / 2)
    log(rehearsal, band, cast, "Jon Pell", "1-3")
    assert (cost("Jon Pell"), cost("Ida Voss")) == (0, before)


def test_lessons_come_first_then_backups_then_where_they_stand_in(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    jon, kit = band.members["Jon Pell"], band.members["Kit Moss"]
    Backup.objects.create(spot=band.spots["1-3"], member=jon, order=1)
    Backup.objects.create(spot=band.spots["1-1"], member=jon, order=2)
    plan = BackupPlan.objects.create(event=band.event)
    Lesson.objects.create(plan=plan, member=jon, spot=band.spots["2-1"])
    Lesson.objects.create(plan=plan, member=jon, spot=band.spots["1-3"])
    lineup = write_lineup(band.event, cast.staff, None)
    row = lineup.rows.get(segment=band.halftime, spot=band.spots["1-2"])
    row.member, row.origin = kit, "stands in"
    row.save()
    log(rehearsal, band, cast, "Jon Pell", "1-3", last_set=3)

    people = {p.member.name: p for p in learners(rehearsal, band.ranks["1"], with_draft=True)}
    assert list(people) == ["Ida Voss", "Jon Pell", "Kit Moss"]
    assert [(x.work.spot.label, x.work.words) for x in people["Jon Pell"].spots] == [
        ("1-3", "learns it this week; first backup"),
        ("2-1", "learns it this week"),
        ("1-1", "second backup"),
    ]
    line = people["Jon Pell"].spots[0].shows[0]
    assert [label for _, label in line.sets] == ["1", "2", "2A", "3"] and line.practised == 3
    [entry] = people["Jon Pell"].entries
    assert entry.sets == ("1", "2", "2A"), "labels as printed"
    assert [x.work.words for x in people["Kit Moss"].spots] == ["stands in, Halftime"]
    published_only = learners(rehearsal, band.ranks["1"], with_draft=False)
    assert "Kit Moss" not in {p.member.name for p in published_only}, "drafts are for staff"
