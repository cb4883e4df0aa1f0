"""Excerpts, section leaders, and a hearing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib.web.forms import DayField, KeyedForm
from roster.music.models import Excerpt, SectionLeader
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Season


class ExcerptForm(forms.ModelForm[Excerpt]):
    class Meta:
        model = Excerpt
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already an excerpt by that name."}
        }
        fields = ["name", "instrument", "part", "due", "order"]
        field_classes = {"due": DayField}
        labels = {
            "instrument": "All of an instrument",
            "part": "One part alone",
            "due": "To be passed by",
        }
        help_texts = {
            "name": "Such as “Opener, bars 9 to 24”.",
            "due": "From that day on lineups name whoever has not passed.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        instrument, part = self.fields["instrument"], self.fields["part"]
        assert isinstance(instrument, forms.ModelChoiceField)
        assert isinstance(part, forms.ModelChoiceField)
        instrument.queryset = people_queries.instruments(season)
        part.queryset = people_queries.parts(season)


class SectionLeaderForm(forms.ModelForm[SectionLeader]):
    class Meta:
        model = SectionLeader
        error_messages = {NON_FIELD_ERRORS: {"unique_together": "They lead this section already."}}
        fields = ["instrument", "member"]
        field_classes = {"member": MemberField}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        instrument, member = self.fields["instrument"], self.fields["member"]
        assert isinstance(instrument, forms.ModelChoiceField)
        assert isinstance(member, MemberField)
        instrument.queryset = people_queries.instruments(season)
        member.queryset = people_queries.active_members(season)


class HearingForm(KeyedForm):
    """What a hearer tapped."""

    member = forms.IntegerField(min_value=1, max_value=10**9)
    excerpt = forms.IntegerField(min_value=1, max_value=10**9)
    state = forms.ChoiceField(choices=[("passed", "passed"), ("not yet", "not yet")])
