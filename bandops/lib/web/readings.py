"""Forms that ask which moment is meant where the clocks are changed."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django import forms

from bandops.lib.clocks import question, reading_words, readings
from bandops.lib.dates import in_zone

ENDING = "_reading"


class AsksReadings(forms.BaseForm):
    """A form with times that a day may have twice or not at all: only then it has a choice beside
    the time, and asks for it."""

    def offer(self, name: str, moment: datetime.datetime, zone: ZoneInfo) -> None:
        """Put the choice beside a field's time, where there is one to make; ``moment`` is the one
        that is known."""
        known = in_zone(moment, zone)
        found = readings(known.replace(tzinfo=None, fold=0), zone)
        self._offer(name, found, _key(known))

    def reading(
        self, name: str, local: datetime.datetime, zone: ZoneInfo
    ) -> datetime.datetime | None:
        """The moment that a field's time means; None, and the question as the field's error,
        where a choice is to be made first."""
        found = {_key(moment): moment for moment in readings(local, zone)}
        if len(found) == 1:
            return next(iter(found.values()))
        chosen = self.data.get(self.add_prefix(name + ENDING), "")
        self._offer(name, tuple(found.values()))
        if chosen not in found:
            self.add_error(name, question(local, zone))
            return None
        return found[chosen]

    def _offer(self, name: str, found: tuple[datetime.datetime, ...], chosen: str = "") -> None:
        if len(found) < 2:
            return
        self.fields[name + ENDING] = forms.ChoiceField(
            label=f"Which {str(self[name].label).lower()}",
            choices=[("", "Choose"), *((_key(it), reading_words(it)) for it in found)],
            initial=chosen,
            required=False,
        )
        names = [field for field in self.fields if field != name + ENDING]
        names.insert(names.index(name) + 1, name + ENDING)
        self.order_fields(names)


def _key(moment: datetime.datetime) -> str:
    return moment.isoformat(timespec="minutes")
