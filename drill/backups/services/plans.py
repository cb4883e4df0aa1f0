"""The backup plan of an event: made by computation, changed and locked by staff."""

from __future__ import annotations

import hashlib
import json
import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.outbox.dispatch import add_job
from drill.absences.core.availability import State
from drill.backups.core.backup_plan import Plan, backup_plan
from drill.backups.core.coverage import Lesson as PlannedLesson
from drill.backups.core.usual import UsualChance
from drill.backups.enums import ChancesFrom
from drill.backups.models import BackupPlan, Lesson
from drill.backups.services.chances import Chances, chances_of
from drill.backups.services.coverage import Covered, covered, known_pairs
from drill.backups.services.usual_chance import usual_chance
from drill.events.models import Event
from drill.lineup.services.problem_builder import Built
from roster.people.models import Member
from roster.ranks.models import Spot


def ask_for_plan(
    *,
    actor: User,
    event: Event,
    lessons_each: int,
    chance: Decimal,
    chances_from: str = ChancesFrom.SEASON,
) -> BackupPlan:
    """Write the settings down and have the plan made; locked lessons stay as they are."""
    with recorded(actor, "ask for a backup plan"):
        Event.objects.select_for_update().get(pk=event.pk)
        plan = _locked_plan(event)
        plan.lessons_each, plan.chance, plan.made_by = lessons_each, chance, actor
        plan.chances_from = chances_from or ChancesFrom.SEASON
        plan.full_clean()
        plan.save()
        busiest = _busiest(plan)
        if busiest > lessons_each:
            raise Refused(f"Somebody already has {busiest} locked lessons: unlock some first.")
        add_job(
            key=f"plan:{plan.pk}:{uuid.uuid4()}",
            kind="backups.plan",
            group=plan_group(event),
            payload={"plan": plan.pk, "actor": actor.pk},
        )
    return plan


def plan_group(event: Event) -> str:
    """The name that joins an event's planning jobs."""
    return f"plan:{event.pk}"


def plan_of(event: Event, usual: UsualChance | None = None) -> BackupPlan:
    """The event's plan; an unsaved one before the first, with the season's usual chance, which is
    looked up where it is not given."""
    return BackupPlan.objects.filter(event=event).first() or _new_plan(event, usual)


def _locked_plan(event: Event) -> BackupPlan:
    """The event's plan while nobody else writes it."""
    plans = BackupPlan.objects.select_for_update().filter(event=event)
    return plans.first() or _new_plan(event)


def _new_plan(event: Event, usual: UsualChance | None = None) -> BackupPlan:
    found = usual or usual_chance(event.season, event.date)
    return BackupPlan(event=event, chance=Decimal(str(round(found.value, 2))))


@dataclass(frozen=True)
class Made:
    """A plan, and the digest of everything that it was made of."""

    found: Covered
    plan: Plan
    basis: str


def basis(found: Covered, usual: Chances) -> str:
    """Equal as long as the facts, who stands where, what people know and the chances of being
    out are."""
    built = found.built
    likely = sorted((m, round(chance, 6)) for m, chance in chances(built, usual).items())
    known = sorted(known_pairs(built, with_plan=False))
    seats = sorted((p.segment, p.spot, p.member or "") for p in found.placements)
    text = json.dumps([built.facts_hash, seats, known, likely])
    return hashlib.sha256(text.encode()).hexdigest()


def compute_plan(plan: BackupPlan) -> Made:
    """The plan for the lineup as it stands; Refused without a lineup."""
    found = covered(plan.event)
    if found is None:
        raise Refused("Make the lineup first: the plan needs to know who stands where.")
    built, usual = found.built, chances_of(plan)
    locked = {
        PlannedLesson(key(lesson.member_id), key(lesson.spot_id))
        for lesson in plan.lessons.filter(locked=True)
    }
    made = backup_plan(
        built.problem,
        found.placements,
        known=known_pairs(built, with_plan=False),
        learners=learners(built),
        lessons_each=plan.lessons_each,
        chances=chances(built, usual),
        locked=frozenset(locked),
    )
    return Made(found, made, basis(found, usual))


def store_plan(*, actor: User | None, plan: BackupPlan, made: Made) -> None:
    """Replace the plan's lessons that are not locked."""
    with recorded(actor, "make the backup plan"):
        plan = BackupPlan.objects.select_for_update().get(pk=plan.pk)
        plan.lessons.filter(locked=False).delete()
        kept = set(plan.lessons.values_list("member_id", "spot_id"))
        wanted = [(int(x.member), int(x.spot)) for x in made.plan.lessons]
        Lesson.objects.bulk_create(
            Lesson(plan=plan, member_id=m, spot_id=s) for m, s in wanted if (m, s) not in kept
        )
        plan.figures = figures(made.plan)
        plan.facts_hash = made.basis
        plan.save()


def figures(made: Plan) -> dict[str, Any]:
    """The plan's figures, ready to store: means with half-widths, and how they were made."""
    found: dict[str, Any] = {
        name: [estimate.mean, estimate.half_width]
        for name, estimate in (
            ("after", made.holes),
            ("before", made.before),
            ("plain", made.plain),
            ("by_risk", made.by_risk),
            ("saved", made.saved),
        )
    }
    found |= {"bound": made.sample_bound, "held_out": made.held_out, "scenarios": made.scenarios}
    return found


def add_lesson(*, actor: User, event: Event, member: Member, spot: Spot) -> Lesson:
    """Staff give somebody a spot to learn; it is locked, so that the next plan keeps it."""
    with recorded(actor, "add lesson"):
        Event.objects.select_for_update().get(pk=event.pk)
        if not member.qualifications.filter(part=spot.part_id).exists():
            raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")
        if member.holdings.filter(spot=spot, ends__isnull=True).exists():
            raise Refused(f"{member} holds {spot}.")
        plan = _locked_plan(event)
        if plan.pk is None:
            plan.save()
        lesson, made = Lesson.objects.get_or_create(
            plan=plan, member=member, spot=spot, defaults={"locked": True}
        )
        if not made:
            raise Refused(f"{member} already learns {spot}.")
    return lesson


def lock_lesson(*, actor: User, lesson: Lesson, locked: bool) -> None:
    """Keep a lesson when the plan is made again, or let it go."""
    with recorded(actor, "lock lesson" if locked else "unlock lesson"):
        if not Lesson.objects.filter(pk=lesson.pk).update(locked=locked):
            raise Refused("Somebody just made the plan again: look at it first.")


def remove_lesson(*, actor: User, lesson: Lesson) -> None:
    """The member doesn't have to learn the spot."""
    with recorded(actor, "remove lesson"):
        lesson.delete()


def learners(built: Built) -> frozenset[str]:
    """Alternates without a spot who are available for some segment."""
    segments = {g.key for g in built.problem.segments}
    return frozenset(
        m.key
        for m in built.problem.members
        if m.standing is not None and m.holds is None and not segments <= m.away
    )


def chances(built: Built, usual: Chances) -> dict[str, float]:
    """Member -> chance of being out: what is said of the doubtful, else what the plan's setting
    gives them."""
    found = {m.key: usual.of(m.key) for m in built.problem.members}
    for (member, _), standing in built.standings.items():
        if standing.state is State.DOUBTFUL and member in found:
            found[member] = max(found[member], float(standing.chance))
    return found


def _busiest(plan: BackupPlan) -> int:
    counts: dict[int, int] = {}
    for member in plan.lessons.filter(locked=True).values_list("member_id", flat=True):
        counts[member] = counts.get(member, 0) + 1
    return max(counts.values(), default=0)
