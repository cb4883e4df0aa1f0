"""Measurements: taken with their unit and day, never changed into another unit by themselves."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.equipment.core.sizes import BadSize, Size, Unit, converted
from roster.equipment.models import Measurement, Wearer
from roster.people.models import Person


def measure(
    *,
    actor: User,
    person: Person,
    sizes: Mapping[str, Size],
    day: datetime.date,
    key: uuid.UUID,
    growing: bool | None = None,
    left_handed: bool | None = None,
) -> list[Measurement]:
    """What was measured on a day; sent twice it is written once."""
    with recorded(actor, "measure"):
        done = list(Measurement.objects.filter(key=key))
        if done:
            return done
        _note(person, growing, left_handed)
        return [
            Measurement.objects.create(
                person=person,
                measure=name,
                ticks=size.ticks,
                unit=size.unit.value,
                taken_on=day,
                taken_by=actor,
                key=key,
            )
            for name, size in sizes.items()
        ]


def _note(person: Person, growing: bool | None, left_handed: bool | None) -> None:
    if growing is None and left_handed is None:
        return
    wearer = Wearer.objects.filter(person=person).first() or Wearer(person=person)
    if growing is not None:
        wearer.growing = growing
    if left_handed is not None:
        wearer.left_handed = left_handed
    wearer.save()


def convert(*, actor: User, measurement: Measurement, unit: Unit) -> Measurement:
    """The same measurement in the other unit, marked as reckoned, of the same day."""
    with recorded(actor, "convert"):
        try:
            size = converted(Size(measurement.ticks, Unit(measurement.unit)), unit)
        except BadSize as error:
            raise Refused(str(error)) from error
        return Measurement.objects.create(
            person=measurement.person,
            measure=measurement.measure,
            ticks=size.ticks,
            unit=unit.value,
            taken_on=measurement.taken_on,
            taken_by=actor,
            converted=True,
        )


def remove_measurement(*, actor: User, measurement: Measurement) -> None:
    """One that was written down wrong."""
    with recorded(actor, "remove measurement"):
        measurement.delete()
