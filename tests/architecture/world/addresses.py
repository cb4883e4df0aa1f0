"""Every address of the site, about the rows of a world."""

from __future__ import annotations

from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.architecture.world.equipment import equipment_addresses
from tests.architecture.world.made import World
from tests.architecture.world.tryouts import tryout_addresses

ByRow = tuple[tuple[int | str, str], ...]


def arguments(world: World) -> dict[str, tuple[Any, ...]]:
    """The arguments of every address that takes some, by its name."""
    found: dict[str, tuple[Any, ...]] = {}
    for part in (_of_the_band, _of_the_week, _of_the_field, _of_the_rest):
        for pk, names in part(world):
            found |= dict.fromkeys(names.split(), (pk,))
    return found | _of_several_rows(world)


def _of_the_band(world: World) -> ByRow:
    return (
        (
            world.member.pk,
            "member member-edit member-standing member-place member-status "
            "member-emergency member-absences member-release member-erase api-member",
        ),
        (world.rank.pk, "rank rank-edit spot-new"),
        (world.spot.pk, "spot spot-backups"),
        (world.backup.pk, "backup"),
        (world.instrument.pk, "instrument-edit"),
        (world.part.pk, "part-edit part-remove part-split"),
        (world.grant.pk, "role-revoke"),
        (world.band.season.pk, "season-people season-current"),
        (world.grant.user_id, "account"),
        (world.upload.pk, "import-review import-rest import-sheets"),
        (world.batch.pk, "import-undo"),
        (world.absence.pk, "absence-decide absence-withdraw api-absence api-absence-withdraw"),
    )


def _of_the_week(world: World) -> ByRow:
    return (
        (
            world.event.pk,
            "week-of lineup make-lineup proposal mark-out publish event event-edit event-copy "
            "event-remove proving "
            "must-travel card-of api-lineup api-event "
            "by-hand swap-by-hand desk-of desk-fill desk-swap "
            "travel travel-change backups-of plan plan-progress lesson-add event-texts "
            "event-drill slips-print",
        ),
        (
            world.lineup.pk,
            "revision revision-progress revision-prints notices-now notices-again notices-told "
            "revision-again",
        ),
        (world.notice.pk, "notice-told notice-confirm"),
        (world.change.pk, "desk-change desk-undo"),
        (world.lesson_pk, "lesson"),
        (world.clash.pk, "desk-clash"),
        (world.asked.pk, "desk-request-approve desk-request-decline desk-request-withdraw"),
        (world.deputy.pk, "deputy-end"),
        (world.earlier.pk, "event-again"),
        (world.artifact.pk, "file"),
        (world.segment.pk, "segment segment-remove"),
        (
            world.rehearsal.pk,
            "block-new attendance attendance-note attendance-rest practice call call-progress",
        ),
        (world.block.pk, "block block-remove"),
        (world.entry.pk, "practice-remove"),
    )


def _of_the_field(world: World) -> ByRow:
    return (
        (world.show.pk, "show show-dot show-edit show-words show-words-keep"),
        (world.custom_field.pk, "custom-field custom-field-remove"),
        (world.version.pk, "version-checks motion"),
        (world.version.show_id, "versions-compare"),
        (world.limit.pk, "step-limit step-limit-remove"),
        (
            world.fundamental.code,
            "fundamental fundamental-edit fundamental-remove fundamental-passed "
            "fundamental-example-add",
        ),
        (world.abbreviation.pk, "abbreviation abbreviation-remove"),
        (world.sequence.pk, "sequence sequence-remove"),
        ("letter", "study-sheet-file"),
        (world.drilled.show_id, "versions dots"),
        (world.drilled.pk, "sets version-use"),
        (world.set_pk, "set set-move set-remove set-positions"),
        (world.dot_pk, "dot-edit dot-remove"),
    )


def _of_the_rest(world: World) -> ByRow:
    return (
        (world.challenge.round_id, "round round-edit"),
        (
            world.challenge.pk,
            "challenge-marks challenge-decide challenge-take-back challenge-effect "
            "challenge-call-off",
        ),
        (world.criterion.pk, "challenge-criterion challenge-criterion-remove"),
        (world.protection.pk, "protection-lift"),
        (world.record_entry.pk, "record-entry"),
        (1, "api-token-revoke"),
        (world.record_entry.record.event_id, "record-of"),
    )


def _of_several_rows(world: World) -> dict[str, tuple[Any, ...]]:
    event, seat = world.event.pk, (world.event.pk, world.segment.pk, world.spot.pk)
    return {
        "link": ("sign-in", "not-a-token"),
        **dict.fromkeys(("people-merge", "people-different"), world.two_people),
        "merge-undo": world.two_people[:1],
        "sequence-file": (world.sequence.pk, "letter"),
        "calendar-feed": (world.feed.token,),
        "alternates-reorder": (world.rank.pk, world.part.pk),
        "import-upload": ("members",),
        "export": ("members", "csv"),
        "lift-order": (event, "pin", world.pin.pk),
        "dot-positions": (world.drilled.pk, world.dot_pk),
        "seat": seat,
        "place": seat,
        "order": seat,
        "code": (world.lineup.code,),
        "close-up": seat,
        "cut-show": (event, world.show.pk),
        "drill-undo": (event, world.show.pk),
        "desk-out": (event, world.member.pk),
        "desk-not-out": (event, world.member.pk),
        "desk-open": (event, world.spot.pk),
        "spot-coverage": (event, world.spot.pk),
        "slip": (world.lineup.pk, world.member.pk),
        "set-sheet": (world.drilled.show_id, world.spot.pk),
        "set-sheet-print": (world.drilled.show_id, world.spot.pk),
        "set-sheets": (world.drilled.show_id,),
        "set-sheets-file": (world.drilled.show_id, world.sheets.pk),
        "set-sheets-of-rank": (world.drilled.show_id, world.rank.pk),
        "relearn": (event, world.spot.pk, world.member.pk),
        "call-file": (world.rehearsal.pk, world.call.pk),
        "call-of-rank": (world.rehearsal.pk, world.rank.pk),
        **dict.fromkeys(("excerpt", "excerpt-remove"), (world.excerpt.pk,)),
        "section-leader-end": (world.section_leader.pk,),
        **tryout_addresses(world.band.season),
        **equipment_addresses(world.band),
    }


def url_of(name: str, world: World) -> str:
    """The address by its name, about the world's rows."""
    return reverse(name, args=arguments(world).get(name, ()))


def all_names(patterns: Any = None) -> list[str]:
    """The name of every address the site answers to."""
    found: list[str] = []
    for pattern in patterns or get_resolver().url_patterns:
        if isinstance(pattern, URLResolver):
            found += all_names(pattern.url_patterns)
        elif isinstance(pattern, URLPattern):
            assert pattern.name, f"{pattern} has no name"
            found.append(pattern.name)
    return found
