"""Fundamentals that a band may add: examples, and its own of an earlier season."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cache

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.fundamentals.core import Fundamental as Movement
from drill.fundamentals.core import load, read
from drill.fundamentals.models import Fundamental
from drill.fundamentals.services.fundamentals import built_in, fundamentals_of, store
from roster.people.models import Season

EXAMPLES_FILE = ROOT / "fixtures" / "fundamental_examples.json"


@dataclass(frozen=True)
class Offer:
    """A fundamental to add. ``earlier`` names the season it comes from, if from one; ``changed``
    is true where the band changed it since; ``like`` is what it calls another one with the same
    steps."""

    of: Movement
    earlier: str
    added: bool
    changed: bool
    like: str


@cache
def examples() -> dict[str, Movement]:
    """Code -> an example; a definition that cannot be marched is an error."""
    return load(json.loads(EXAMPLES_FILE.read_text(encoding="utf-8")))


def offers(season: Season) -> list[Offer]:
    """What may be added: the band's own of earlier seasons, then the examples."""
    known = fundamentals_of(season)
    named = {_steps(it): it.name for it in reversed(known.values())}
    before = {
        code: (it, name)
        for code, (it, name) in _earlier(season).items()
        if _steps(it) not in named or code in known
    }
    fresh = {code: (it, "") for code, it in examples().items() if code not in before}
    found = []
    for code, (it, name) in (before | fresh).items():
        ours = known.get(code)
        like = "" if ours else named.get(_steps(it), "")
        found.append(Offer(it, name, ours is not None, ours not in (None, it), like))
    return found


def _earlier(season: Season) -> dict[str, tuple[Movement, str]]:
    """Code -> the band's own of the latest season before this that had it, and that season."""
    rows = Fundamental.objects.filter(season__starts__lt=season.starts).select_related("season")
    return {
        row.code: (read(row.definition), row.season.name)
        for row in rows.order_by("season__starts", "name")
        if row.code not in built_in()
    }


def _steps(it: Movement) -> Movement:
    """What the feet do, whatever it is called."""
    return replace(it, code="", name="", also=(), note="", difficulty=1)


def add_offered(*, actor: User, season: Season, code: str) -> Movement:
    """Add one of ``offers`` to the band's own."""
    with recorded(actor, "add example fundamental"):
        Season.objects.select_for_update().get(pk=season.pk)
        it = _offered(season, code)
        known = fundamentals_of(season)
        if code in known:
            raise Refused(f"You already have {known[code].name}.")
        store(season, it, known)
    return it


def _offered(season: Season, code: str) -> Movement:
    before = _earlier(season).get(code)
    it = before[0] if before else examples().get(code)
    if it is None:
        raise Refused("That example does not exist.")
    return it
