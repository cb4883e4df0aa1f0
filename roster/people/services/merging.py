"""Two entries that are one person become one: all of the one that goes is the other's.

What was published stays as it was, with the entry that goes, which is kept for that: it has left,
stands in no list, and its names, number and address find the one who stays. Where both have what
only one may have, the one who stays keeps theirs. All is one action of the audit, which takes it
back in one step.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from django.db import IntegrityError, models, transaction
from django.db.models import ProtectedError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.audit.undo import take_back
from bandops.lib.errors import Refused
from roster.people.enums import Merging
from roster.people.models import Member, Person
from roster.people.services.merged_values import merge_members, merge_persons
from roster.people.ties import MERGE_HINDRANCES, MERGE_SETTLES

OF_MEMBERS = ("qualifications",)
"""relations of a member whose rows are merged by their values"""


@dataclass
class Moved:
    """What became of one table's rows."""

    what: str
    moved: int = 0
    stayed: int = 0
    given_up: list[str] = field(default_factory=list)


@dataclass
class Merged:
    """What a merge did, or would do: table by table, and what is settled otherwise in words."""

    tables: dict[str, Moved] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def of(self, model: type[models.Model]) -> Moved:
        name = _named(model)
        return self.tables.setdefault(name, Moved(name))

    @property
    def shown(self) -> list[Moved]:
        """The tables with rows that somebody may know of."""
        return [t for t in self.tables.values() if t.moved or t.stayed or t.given_up]


def _named(model: type[models.Model]) -> str:
    """A table in words; one that only joins two others by the name of the choice it keeps."""
    owner = model._meta.auto_created
    if isinstance(owner, type) and issubclass(owner, models.Model):
        keeps = owner._meta.many_to_many
        return str(next(f.verbose_name for f in keeps if f.remote_field.through is model))
    return str(model._meta.verbose_name)


class _TakenBack(Exception):
    """Ends the transaction of a preview."""


def twins(stays: Person, goes: Person) -> Iterator[tuple[Member, Member]]:
    """The memberships of one season that both have: who stays, who goes."""
    mine = {m.season_id: m for m in stays.memberships.select_related("person", "season")}
    for member in goes.memberships.select_related("person", "season"):
        if member.season_id in mine:
            yield mine[member.season_id], member


def hindrances(stays: Person, goes: Person) -> list[str]:
    """What stands in the way, each with what to do about it."""
    if stays.pk == goes.pk:
        return ["Choose two different people."]
    if stays.merged_into_id or goes.merged_into_id:
        return ["One of them is already merged."]
    pairs = list(twins(stays, goes))
    return [text for pair in pairs for said in MERGE_HINDRANCES.ask(*pair) for text in said]


def preview(*, actor: User, stays: Person, goes: Person) -> Merged:
    """What merging would do: it is done, and taken back before anybody sees it."""
    try:
        with transaction.atomic():
            found = merge_people(actor=actor, stays=stays, goes=goes)
            raise _TakenBack
    except _TakenBack:
        return found


def merge_people(
    *, actor: User, stays: Person, goes: Person, choices: Mapping[str, str] | None = None
) -> Merged:
    """Everything of the one that goes becomes that of the one who stays. ``choices`` names the
    fields of which the value of the one that goes is right."""
    with recorded(actor, "merge people") as batch:
        locked = Person.objects.select_for_update().order_by("pk")
        rows = {person.pk: person for person in locked.filter(pk__in=[stays.pk, goes.pk])}
        stays, goes = rows[stays.pk], rows[goes.pk]
        in_the_way = hindrances(stays, goes)
        if in_the_way:
            raise Refused("These two cannot be merged yet.", tuple(in_the_way))
        result = Merged()
        chosen = {name for name, which in (choices or {}).items() if which == "goes"}
        for mine, theirs in list(twins(stays, goes)):
            for notes in MERGE_SETTLES.ask(actor, mine, theirs):
                result.notes += notes
            result.notes += merge_members(mine, theirs, chosen)
            _move_all(result, theirs, mine, OF_MEMBERS)
        alone = goes.memberships.exclude(season__in=stays.memberships.values("season"))
        result.of(Member).moved += alone.update(person=stays)
        _move_all(result, goes, stays, ("memberships",))
        merge_persons(stays, goes, chosen, batch)
    return result


def undo_merge(*, actor: User, person: Person) -> None:
    """Two entries again, each with what it had; refused when it has been used since."""
    if person.merged_into_id is None:
        raise Refused("This was already taken back.")
    take_back(actor=actor, batch=person.merge_batch)


def _move_all(
    result: Merged, goes: models.Model, stays: models.Model, but: tuple[str, ...]
) -> None:
    """All rows of whatever table that point to the one, by each table's own rule."""
    for relation in type(goes)._meta.get_fields(include_hidden=True):
        if (
            not isinstance(relation, models.ForeignObjectRel)
            or relation.many_to_many
            or relation.name in but
        ):
            continue
        model = relation.related_model
        assert isinstance(model, type)
        rule = getattr(model, "merging", Merging.MOVE)
        moved = result.of(model)
        rows = model._base_manager.filter(**{relation.field.name: goes})
        if rule is Merging.STAY:
            moved.stayed += rows.count()
        else:
            _move(moved, relation.field, list(rows.values_list("pk", flat=True)), stays, rule)


def _move(
    moved: Moved,
    key: models.Field[object, object],
    pks: list[int],
    stays: models.Model,
    rule: Merging,
) -> None:
    """Rows at once where they all fit, else one by one."""
    rows = key.model._base_manager.filter(pk__in=pks)
    if not pks:
        return
    if _fits(rows, key, stays):
        moved.moved += len(pks)
        return
    for row in rows.order_by("pk"):
        one = key.model._base_manager.filter(pk=row.pk)
        if len(pks) > 1 and _fits(one, key, stays):
            moved.moved += 1
        elif rule is Merging.KEEP or not _given_up(one, key):
            moved.stayed += 1
        else:
            moved.given_up.append(str(row))


def _fits(
    rows: models.QuerySet[models.Model], key: models.Field[object, object], stays: models.Model
) -> bool:
    """True when the rows are moved; False when a constraint refuses them."""
    try:
        with transaction.atomic():
            rows.update(**{key.name: stays})
    except IntegrityError:
        return False
    return True


def _given_up(row: models.QuerySet[models.Model], key: models.Field[object, object]) -> bool:
    """Taken off the row where it lives on without, else with the row; False when it is needed."""
    if key.remote_field is not None and key.remote_field.on_delete is models.SET_NULL:
        row.update(**{key.name: None})
        return True
    try:
        with transaction.atomic():
            row.delete()
    except ProtectedError:
        return False
    return True
