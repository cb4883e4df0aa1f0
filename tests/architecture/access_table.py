"""Who may do what at every address: the design's expectations, which the tests check."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest

from tests.architecture.world import ROLES

EVERYBODY = " ".join(ROLES)
SIGNED_IN = EVERYBODY.replace(" visitor", "")
STAFF = "director staff"
MEMBERS = "leader member other"
READERS = f"{STAFF} equipment {MEMBERS}"
"""who reads published lineups: not an evaluator, whose own marks are all they see"""


@dataclass(frozen=True)
class Row:
    """Who may. Others are refused, visitors sent to sign in."""

    allowed: str
    get: str = "ok"
    post: str = "ok"
    refused: str = "403"
    visitor: str = "sign-in"
    odd: dict[tuple[str, str], str] = field(default_factory=dict)

    def expected(self, role: str, method: str) -> str:
        plain = self.get if method == "GET" else self.post
        if (role, method) in self.odd:
            return self.odd[role, method]
        if plain == "405 for all":
            return "405"
        if role in self.allowed.split():
            return plain
        return self.visitor if role == "visitor" else self.refused


def page(allowed: str, **more: object) -> Row:
    """A page, with or without a form on it."""
    return Row(allowed, **more)  # type: ignore[arg-type]


def button(allowed: str, **more: object) -> Row:
    """An address that only forms are sent to."""
    return Row(allowed, get="405 for all", **more)  # type: ignore[arg-type]


def api(allowed: str, **more: object) -> Row:
    """The API refuses visitors instead of sending them on."""
    return Row(allowed, visitor="401", **more)  # type: ignore[arg-type]


ONLY_READING = {(r, "POST"): "403" for r in ("equipment", *MEMBERS.split())}
KEEPERS = f"{STAFF} equipment"
API_LISTS = (
    "api-members api-member api-parts api-ranks api-spots api-alternates api-backups "
    "api-absence api-shows api-sets api-coordinates api-record api-seasons api-blocks "
    "api-challenge-rounds api-challenges api-travellers api-tryouts api-results"
)
NOT_THEIRS = {(r, m): "404" for r in ("director", "equipment") for m in ("GET", "POST")}

TRYOUT_PAGES = (
    "tryouts tryout-new tryout-copy tryout tryout-set-up tryout-edit tryout-ties "
    "tryout-quotas tryout-session-new tryout-session tryout-groups tryout-criterion-new "
    "tryout-criterion readiness-item-new readiness-item candidates candidate-new "
    "candidate-numbers candidate-key candidate candidate-edit candidate-marks look-correct "
    "check-in checked-in tryout-plan tryout-group panelist-new panelist tryout-print "
    "tryout-marks typed-sheet-new typed-sheet typed-differences tryout-figures "
    "tryout-evaluators tryout-callbacks tryout-decision tryout-what-if decision-posting "
    "offer-change appeal-file tryout-results-print tryout-seating tryout-seat excerpts "
    "excerpt-new excerpt section-leader-new"
)
TRYOUT_BUTTONS = (
    "tryout-start tryout-session-remove tryout-criteria-start tryout-criterion-remove "
    "readiness-item-remove candidate-ready candidate-withdraw candidate-number "
    "candidate-recuse recusal-lift check-in-note tryout-panels tryout-link panelists-add "
    "panelist-remove marks-settle correction-answer typed-sheet-save decision-make "
    "decision-option decision-tell decision-sign decision-drop offer-answer offer-told "
    "seating-rules seating-seat seating-apart seating-together seating-join seat-lock "
    "excerpt-remove section-leader-end"
)
STORE_PAGES = (
    "equipment equipment-items equipment-item-new equipment-item equipment-item-edit "
    "equipment-find equipment-scanned equipment-desk equipment-kinds equipment-kind-new "
    "equipment-kind equipment-item-add equipment-items-add equipment-measures equipment-measure "
    "equipment-fitting equipment-fit equipment-line equipment-fit-member equipment-work "
    "equipment-ticket equipment-run-new equipment-run equipment-inspection-new equipment-out "
    "equipment-out-print equipment-issue-forms equipment-issue-form equipment-labels "
    "uniform show-uniform truck bring-print load-print"
)
STORE_BUTTONS = (
    "equipment-item-move equipment-item-work equipment-hand-out equipment-take-back "
    "equipment-kind-remove equipment-measure-convert equipment-measure-remove equipment-fit-out "
    "equipment-line-join equipment-line-leave equipment-run-close equipment-inspection-remove "
    "readiness-excuse"
)
NOT_STAFF = {(role, method): "404" for role in STAFF.split() for method in ("GET", "POST")}
"""staff who evaluate in no tryout"""
NOT_STAFF_POST = {(role, "POST"): "404" for role in STAFF.split()}

TABLE = {
    # accounts
    "sign-in": page(EVERYBODY),
    "link": page(EVERYBODY, post="410"),
    "sign-out": page(EVERYBODY, get="sign-in", post="sign-in"),
    "me": page(SIGNED_IN),
    "home": page(SIGNED_IN),
    # members, ranks, shows, events: staff all
    "people": page(STAFF),
    "member-new": page(STAFF),
    "people-bulk": button(STAFF),
    "member": page(STAFF),
    "member-edit": page(STAFF),
    "people-twice": page(STAFF),
    "people-merge": page(STAFF),
    "people-different": button(STAFF),
    "merge-undo": button(STAFF),
    "member-standing": page(STAFF),
    "member-place": page(STAFF),
    "member-status": button(STAFF),
    "member-emergency": page(STAFF),
    "member-absences": page(STAFF),
    "member-release": page(STAFF),
    "ranks": page(STAFF),
    "rank-new": page(STAFF),
    "rank": page(STAFF),
    "rank-edit": page(STAFF),
    "spot-new": page(STAFF),
    "alternates": page(STAFF),
    "alternate-pools": button("director"),
    "alternates-reorder": button(STAFF),
    "spot": page(STAFF),
    "instruments": page(STAFF),
    "instrument-new": page(STAFF),
    "instrument-edit": page(STAFF),
    "part-new": page(STAFF),
    "part-edit": page(STAFF),
    "part-remove": button(STAFF),
    "part-split": page(STAFF),
    "events": page(STAFF),
    "event-new": page(STAFF),
    "event": page(STAFF),
    "event-edit": page(STAFF),
    "event-copy": page(STAFF),
    "events-earlier": page(STAFF),
    "event-again": page(STAFF),
    "event-remove": button(STAFF),
    "must-travel": page(STAFF),
    "travel": page(STAFF),
    "next-travel": page(STAFF),
    "travel-change": button(STAFF),
    "segment": page(STAFF),
    "segment-remove": button(STAFF),
    "show-new": page(STAFF),
    "show": page(STAFF),
    "show-dot": button(STAFF),
    "show-edit": page(STAFF),
    "event-texts": page(STAFF),
    "field": page(STAFF),
    "custom-field-new": page(STAFF),
    "custom-field": page(STAFF),
    "custom-field-remove": button(STAFF),
    "version-checks": page(STAFF),
    "event-drill": page(STAFF),
    "cut-show": page(STAFF),
    "drill-undo": button(STAFF),
    "close-up": page(STAFF),
    "versions-compare": page(STAFF),
    "move-limits": page(STAFF),
    "step-limit-new": page(STAFF),
    "step-limit": page(STAFF),
    "step-limit-remove": button(STAFF),
    "versions": page(STAFF),
    "version-use": button(STAFF),
    "sets": page(STAFF),
    "set": page(STAFF),
    "set-move": button(STAFF),
    "set-remove": button(STAFF),
    "set-positions": page(STAFF),
    "dot-positions": page(STAFF),
    "dots": page(STAFF),
    "dot-edit": page(STAFF),
    "dot-remove": button(STAFF),
    # rehearsals: staff all; rank leaders note and print their own rank
    "block-new": page(STAFF),
    "block": page(STAFF),
    "block-remove": button(STAFF),
    "rehearsals": page(STAFF),
    "attendance": page(f"{STAFF} leader"),
    "slips-print": button(STAFF),
    "attendance-note": button(f"{STAFF} leader"),
    "attendance-rest": button(f"{STAFF} leader"),
    "practice": page(f"{STAFF} leader"),
    # an entry belongs to whoever wrote it, here staff
    "practice-remove": button(STAFF),
    "call": page(STAFF),
    "call-progress": page(STAFF),
    "call-file": page(STAFF),
    "call-of-rank": page(f"{STAFF} leader"),
    # members: equipment managers read names and sizes
    "sizes": page(f"{STAFF} equipment"),
    # the season: the director's
    "set-up": page(STAFF),
    "season": page("director"),
    "season-clock": button("director"),
    "starter-parts": button(STAFF),
    "roles": page("director"),
    "account": page("director"),
    "letters": page(STAFF),
    "season-next": page("director"),
    "seasons": page("director"),
    "season-people": page("director"),
    "season-current": page("director"),
    "hand-over": page("director"),
    "member-erase": page("director"),
    "deputies": page("director"),
    "deputy-end": button("director"),
    "role-revoke": button("director"),
    "invitations": page(STAFF),
    "test-mail": button(STAFF),
    "audit": page(STAFF),
    "imports": page(f"{STAFF} equipment"),
    "import-columns": page(f"{STAFF} equipment"),
    "import-upload": page(STAFF),
    # a file under review belongs to whoever chose it
    "import-review": page(f"{STAFF} equipment", odd=NOT_THEIRS),
    "import-sheets": page(f"{STAFF} equipment", post="404", odd=NOT_THEIRS),
    "import-rest": page(f"{STAFF} equipment", odd=NOT_THEIRS),
    "import-words": page(STAFF),
    "import-undo": button(STAFF),
    "export": page(STAFF),
    # lineups: staff all, published ones to equipment managers and members
    "week": page(STAFF),
    "week-of": page(STAFF),
    "who-marches": page(STAFF),
    "lineup": page(STAFF),
    "make-lineup": button(STAFF),
    "proposal": page(STAFF),
    "proving": page(STAFF),
    "mark-out": button(STAFF),
    "publish": page(STAFF),
    "lift-order": button(STAFF),
    "seat": page(STAFF),
    "place": button(STAFF),
    "swap-by-hand": button(STAFF),
    "order": button(STAFF),
    "revision": page(STAFF),
    "revision-progress": page(STAFF),
    "revision-prints": button(STAFF),
    # a rank's leader tells their own rank in person
    "notice-told": button(f"{STAFF} leader"),
    "notices-now": button(STAFF),
    "notices-again": button(STAFF),
    "notices-told": button(STAFF),
    "notice-confirm": button(MEMBERS, odd={("member", "POST"): "404", ("other", "POST"): "404"}),
    # the game-day desk; the slip is of somebody in rank 1
    "desk": page(STAFF),
    "desk-of": page(STAFF),
    "desk-out": page(STAFF),
    "desk-open": page(STAFF),
    "desk-swap": page(STAFF),
    "desk-not-out": button(STAFF),
    "desk-fill": button(STAFF),
    "desk-change": page(STAFF),
    "desk-undo": button(STAFF),
    "desk-clash": button(STAFF),
    "desk-request-approve": button(STAFF),
    "desk-request-decline": button(STAFF),
    "desk-request-withdraw": button(STAFF),
    "slip": page(f"{STAFF} leader member"),
    "backups": page(STAFF),
    "backups-of": page(STAFF),
    "spot-coverage": page(STAFF),
    "plan": page(STAFF),
    "plan-progress": page(STAFF),
    "lesson-add": page(STAFF),
    "lesson": button(STAFF),
    "history": page(STAFF),
    "looks": page(STAFF),
    "take-back": button(f"{STAFF} equipment"),
    "revision-again": button(STAFF),
    "worker": page(EVERYBODY),
    "offline": page(EVERYBODY),
    "file": page(READERS),
    "code": page(EVERYBODY),
    "by-hand": button(STAFF),
    "backup": button(STAFF),
    "spot-backups": page(STAFF),
    # drill: staff's; a spot's sheet is for its rank's leader and those who work on it
    "drill": page(STAFF),
    "motion": page(STAFF),
    "set-sheet": page(f"{STAFF} leader member"),
    "set-sheet-print": page(f"{STAFF} leader member"),
    "set-sheets": page(STAFF),
    "set-sheets-of-rank": page(f"{STAFF} leader"),
    "set-sheets-file": page(f"{STAFF} leader"),
    "relearn": page(f"{STAFF} leader member"),
    # absences: staff all; members their own; rank leaders report, without a reason
    "absences": page(STAFF),
    "absence-new": page(STAFF),
    "absence-written": button(STAFF),
    "absence-decide": button(STAFF),
    "absence-withdraw": button(f"{STAFF} member"),
    "my-absences": page(MEMBERS),
    "rank-report": page("leader"),
    # a calendar address is one's own; what it answers needs no signing in
    "calendar": page(f"{READERS} evaluator"),
    "calendar-feed": page(EVERYBODY, post="405"),
    # a search finds what its reader may see
    "search": page(f"{READERS} evaluator", post="405"),
    # challenges: staff's; evaluators mark sides, members ask and see their own
    "challenges": page(STAFF),
    "round-new": page(STAFF),
    "round": page(STAFF),
    "round-edit": page(STAFF),
    "challenge-rule": page(STAFF),
    "challenge-criteria": page(STAFF),
    "challenge-criteria-start": button(STAFF),
    "challenge-criterion": page(STAFF),
    "challenge-criterion-remove": button(STAFF),
    "protected-spots": page(STAFF),
    "protection-lift": button(STAFF),
    "challenge-decide": button(STAFF),
    "challenge-take-back": button(STAFF),
    "challenge-effect": button(STAFF),
    "challenge-call-off": button(STAFF),
    "my-challenges": page(MEMBERS),
    "marks": page("evaluator"),
    "challenge-marks": page("evaluator"),
    # the marching record: staff's, and one's own lines
    "record": page(STAFF),
    "record-of": page(STAFF),
    "record-entry": page(STAFF),
    "my-record": page(MEMBERS),
    # fundamentals, words, evaluation sequences: staff's
    "show-words": page(STAFF),
    "show-words-keep": button(STAFF),
    "fundamentals": page(STAFF),
    "fundamental-new": page(STAFF),
    "fundamental": page(STAFF),
    "fundamental-examples": page(STAFF),
    "fundamental-example-add": button(STAFF),
    "fundamental-edit": page(STAFF),
    "fundamental-remove": button(STAFF),
    "fundamental-passed": page(STAFF),
    "abbreviations": page(STAFF),
    "abbreviation": page(STAFF),
    "abbreviation-remove": button(STAFF),
    "study-sheet": page(STAFF),
    "study-sheet-file": page(STAFF),
    "sequences": page(STAFF),
    "sequence": page(STAFF),
    "sequence-file": page(STAFF),
    "sequence-remove": button(STAFF),
    # tryouts: staff's; evaluators mark, candidates see their own, the posted list is everybody's
    **dict.fromkeys(TRYOUT_PAGES.split(), page(STAFF)),
    **dict.fromkeys(TRYOUT_BUTTONS.split(), button(STAFF)),
    "tryout-reopen": button("director"),
    "decision-reopen": button("director"),
    "marking": page(f"{STAFF} evaluator"),
    "group-looks": page(f"{STAFF} evaluator", odd=NOT_STAFF),
    "look-find": page(f"{STAFF} evaluator", odd=NOT_STAFF),
    "look-other": page(f"{STAFF} evaluator", odd=NOT_STAFF),
    "mark-note": button(f"{STAFF} evaluator", odd=NOT_STAFF_POST),
    "recuse-me": button(f"{STAFF} evaluator", odd=NOT_STAFF_POST),
    "my-tryout": page(SIGNED_IN),
    "my-tryout-answer": button(SIGNED_IN, post="404"),
    "tryout-results": page(EVERYBODY),
    "music": page(f"{STAFF} evaluator"),
    "music-hear": button(f"{STAFF} evaluator"),
    "my-music": page(MEMBERS),
    # the store: staff and the equipment manager; charges are between them, the member and the
    # director; leaders see who of their rank lacks what
    **dict.fromkeys(STORE_PAGES.split(), page(f"{STAFF} equipment")),
    **dict.fromkeys(STORE_BUTTONS.split(), button(f"{STAFF} equipment")),
    "readiness-excuse": button(f"{STAFF} equipment", post="404"),
    "equipment-charges": page("director equipment"),
    "equipment-charge-new": page("director equipment"),
    "equipment-charge-settle": button("director equipment"),
    "readiness": page(f"{STAFF} equipment leader"),
    "readiness-next": page(f"{STAFF} equipment leader"),
    "my-equipment": page(MEMBERS),
    # own pages
    "card": page(MEMBERS),
    "card-of": page(MEMBERS),
    "my-rank": page("leader"),
    "my-backups": page("leader"),
    # the API keeps the same rules; its description holds no data
    "api-docs": page(f"{READERS} evaluator"),
    "api-schema": api(SIGNED_IN, post="405"),
    "api-tokens": page(f"{STAFF} equipment"),
    "api-token-revoke": button(f"{STAFF} equipment", post="404"),
    "api-events": api(READERS, odd=ONLY_READING),
    "api-event": api(READERS, post="405", odd=ONLY_READING),
    "api-lineup": api(READERS, post="405"),
    "api-solve": api(STAFF, get="405"),
    **dict.fromkeys(API_LISTS.split(), api(STAFF, post="405")),
    "api-absences": api(STAFF),
    "api-attendance": api(STAFF),
    "api-absence-withdraw": api(STAFF, get="405"),
    **dict.fromkeys(("api-kinds", "api-items", "api-item"), api(KEEPERS, post="405")),
    "api-item-hand-out": api(KEEPERS, get="405"),
    "api-item-take-back": api(KEEPERS, get="405"),
}


def sliced(parts: int) -> list[Any]:
    """The names of all addresses as so many parameters, for walks that share the work."""
    names = list(TABLE)
    return [pytest.param(names[n::parts], id=f"{n + 1} of {parts}") for n in range(parts)]
