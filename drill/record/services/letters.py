"""Letters: the season's rule, and how everybody stands towards it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.record.core.letters import Credit, Rule, credit_of
from drill.record.core.record import Outcome
from drill.record.models import LetterRule, MarchingRecord, RecordEntry
from drill.record.services.marching_record import performances
from roster.people import queries as people_queries
from roster.people.models import Member, Season


@dataclass(frozen=True)
class Letters:
    """Everybody's credit by confirmed performances; ``unconfirmed`` do not count yet, ``left``
    are still to come or to be confirmed."""

    rule: LetterRule
    credits: list[tuple[Member, Credit]]
    confirmed: int
    unconfirmed: int
    left: int


def rule_of(season: Season) -> LetterRule:
    """The season's rule; what it is before anybody chose one."""
    return LetterRule.objects.filter(season=season).first() or LetterRule(season=season)


def save_rule(*, actor: User, rule: LetterRule) -> LetterRule:
    """Choose what a letter takes."""
    rule.full_clean()
    with recorded(actor, "choose what a letter takes"):
        rule.save()
    return rule


def letters(season: Season) -> Letters:
    """How every active member stands; a fixed number of queries."""
    rule, confirmed, unconfirmed, left = _so_far(season)
    done, figures = _outcomes(season), _figures(rule)
    rows = [
        (member, credit_of(done[member.pk].values(), left, figures))
        for member in people_queries.active_members(season)
    ]
    rows.sort(key=lambda row: (-row[1].points, row[0].person.sort_key))
    return Letters(rule, rows, confirmed, unconfirmed, left)


def _so_far(season: Season) -> tuple[LetterRule, int, int, int]:
    """The rule, and how many performances are confirmed, over without being confirmed, and left."""
    records = MarchingRecord.objects.filter(event__season=season)
    confirmed = set(records.values_list("event", flat=True))
    waiting = {event.pk for event, _, record in performances(season) if record is None}
    every = event_queries.not_over(event_queries.events(season))
    coming = {event.pk for event in every if event.kind != EventKind.REHEARSAL} - confirmed
    left = len(waiting | coming)  # today's may be both
    return rule_of(season), len(confirmed), len(waiting - coming), left


def _figures(rule: LetterRule) -> Rule:
    return Rule(rule.marched, rule.stood_by, rule.needed)


def own_credit(member: Member) -> tuple[LetterRule, Credit, int]:
    """The rule, how one member stands, and how many performances are left."""
    rule, _, _, left = _so_far(member.season)
    done = _outcomes(member.season)[member.pk]
    return rule, credit_of(done.values(), left, _figures(rule)), left


def _outcomes(season: Season) -> dict[int, dict[int, list[Outcome]]]:
    """Member -> event -> what they did in its segments."""
    found: dict[int, dict[int, list[Outcome]]] = defaultdict(lambda: defaultdict(list))
    entries = RecordEntry.objects.filter(record__event__season=season)
    for member, event, outcome in entries.values_list("member", "record__event", "outcome"):
        found[member][event].append(Outcome(outcome))
    return found
