"""Corrections, and paper sheets typed twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms

from roster.tryouts import queries
from roster.tryouts.forms.candidates import panelist_label
from roster.tryouts.models import Panelist, Tryout, TryoutCriterion, TryoutSession
from roster.tryouts.services.marking import mark_words, read_mark
from roster.tryouts.services.marks import Counting
from roster.tryouts.services.typing import Difference

TYPED = {"class": "short", "autocomplete": "off"}
SHORT = TYPED | {"inputmode": "decimal"}


class ReasonForm(forms.Form):
    reason = forms.CharField(
        max_length=200,
        help_text="It stays with the marks, such as: two rows swapped on the sheet.",
    )


class CorrectionForm(ReasonForm):
    """A look's marks, to be corrected."""

    def __init__(self, rows: Iterable[Counting], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = list(rows)
        for it in self.rows:
            self.fields[f"m{it.mark.pk}"] = forms.CharField(
                label=f"{it.mark.criterion}",
                initial=mark_words(it.value),
                max_length=12,
                widget=forms.TextInput(attrs=SHORT),
            )
        self.order_fields([f"m{it.mark.pk}" for it in self.rows])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for it in self.rows:
            name = f"m{it.mark.pk}"
            if name in data:
                try:
                    data[name] = read_mark(data[name])
                except ValueError as error:
                    self.add_error(name, str(error))
        return data

    @property
    def values(self) -> dict[int, Decimal | None]:
        return {it.mark.pk: self.cleaned_data[f"m{it.mark.pk}"] for it in self.rows}


class NewSheetForm(forms.Form):
    """Which paper is typed."""

    session = forms.ModelChoiceField(TryoutSession.objects.none())
    panelist = forms.ModelChoiceField(Panelist.objects.none(), label="Evaluator")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        session, panelist = self.fields["session"], self.fields["panelist"]
        assert isinstance(session, forms.ModelChoiceField)
        assert isinstance(panelist, forms.ModelChoiceField)
        session.queryset = TryoutSession.objects.filter(tryout=tryout)
        panelist.queryset = queries.panelists(tryout)
        panelist.label_from_instance = panelist_label  # type: ignore[method-assign, assignment]


class DifferencesForm(forms.Form):
    """What the paper really says where two typings differ; a field left empty stays open."""

    EMPTY = "empty"

    def __init__(self, differences: Iterable[Difference], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.differences = list(differences)
        for d in self.differences:
            self.fields[self._name(d)] = forms.CharField(
                label=f"{d.number}, {d.criterion}: the paper says",
                required=False,
                max_length=12,
                widget=forms.TextInput(attrs=TYPED),
            )

    def rows(self) -> list[tuple[Difference, forms.BoundField]]:
        """Each difference with its field."""
        return [(d, self[self._name(d)]) for d in self.differences]

    @staticmethod
    def _name(d: Difference) -> str:
        return f"{d.number}_{d.criterion.pk}"

    @property
    def chosen(self) -> dict[tuple[str, str], str]:
        """(number, criterion's id) -> what the paper says, of those that were typed."""
        found = {}
        for d in self.differences:
            text = self.cleaned_data[self._name(d)].strip()
            if text:
                said = "" if text.lower() == self.EMPTY else text
                found[d.number, str(d.criterion.pk)] = said
        return found


class SheetForm(forms.Form):
    """A paper sheet as a grid: a row a number, a column a criterion. Empty rows at the end take
    numbers that are written on the paper by hand."""

    EXTRA = 2

    def __init__(
        self,
        criteria: Iterable[TryoutCriterion],
        numbers: Iterable[str],
        typed: Mapping[str, Mapping[str, str]],
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria = list(criteria)
        self.numbers = list(dict.fromkeys([*numbers, *typed]))
        self.extra = [f"extra{n}" for n in range(1, self.EXTRA + 1)]
        for name in self.extra:
            self.fields[f"number_{name}"] = forms.CharField(
                label="Another number",
                required=False,
                max_length=6,
                widget=forms.TextInput(attrs=SHORT | {"inputmode": "numeric"}),
            )
        for row in [*self.numbers, *self.extra]:
            for c in self.criteria:
                self.fields[f"{row}_{c.pk}"] = forms.CharField(
                    label=f"{row if row in self.numbers else 'another number'}, {c}",
                    required=False,
                    max_length=12,
                    initial=typed.get(row, {}).get(str(c.pk), ""),
                    widget=forms.TextInput(attrs=SHORT),
                )

    def grid(self) -> list[tuple[str, forms.BoundField | None, list[forms.BoundField]]]:
        """(number, field of the number where it is typed, fields), row by row."""
        return [
            (
                row if row in self.numbers else "",
                None if row in self.numbers else self[f"number_{row}"],
                [self[f"{row}_{c.pk}"] for c in self.criteria],
            )
            for row in [*self.numbers, *self.extra]
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for row in self.extra:
            has_marks = any(data.get(f"{row}_{c.pk}") for c in self.criteria)
            if has_marks and not data.get(f"number_{row}"):
                self.add_error(f"number_{row}", "Whose marks are these?")
            if data.get(f"number_{row}") in self.numbers:
                self.add_error(f"number_{row}", "This number has a row above.")
        others = [data[name] for name in map("number_{}".format, self.extra) if data.get(name)]
        if len(set(others)) < len(others):
            self.add_error(f"number_{self.extra[-1]}", "This number has a row above.")
        return data

    @property
    def typed(self) -> dict[str, dict[str, str]]:
        """What was typed, by number; rows without a word are left out."""
        found = {}
        for row in [*self.numbers, *self.extra]:
            number = row if row in self.numbers else self.cleaned_data[f"number_{row}"].strip()
            cells = {str(c.pk): self.cleaned_data[f"{row}_{c.pk}"] for c in self.criteria}
            if number and any(text.strip() for text in cells.values()):
                found[number] = cells
        return found
