"""The backup plan's settings and one lesson."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import ChanceField
from drill.backups.models import BackupPlan
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


class PlanForm(forms.ModelForm[BackupPlan]):
    class Meta:
        model = BackupPlan
        fields = ["lessons_each", "chances_from", "chance"]
        field_classes = {"chance": ChanceField}
        help_texts = {
            "chance": "In percent; 5% means one in twenty. For everybody, or until the season has "
            "its own numbers. Anybody doubtful counts with the chance entered for them."
        }


class LessonForm(forms.Form):
    """Who learns what."""

    member = MemberField(Member.objects.none())
    spot = forms.ModelChoiceField(Spot.objects.none())

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        member, spot = self.fields["member"], self.fields["spot"]
        assert isinstance(member, forms.ModelChoiceField)
        assert isinstance(spot, forms.ModelChoiceField)
        member.queryset = people_queries.active_members(season)
        spot.queryset = rank_queries.spots(season)
        spot.label_from_instance = lambda s: f"{s} {s.part}"  # type: ignore[assignment]
