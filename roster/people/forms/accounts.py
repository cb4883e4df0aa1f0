"""One's own details, and an account's address."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.names import plain
from roster.people.models import Member


class OwnDetailsForm(forms.Form):
    used_name = forms.CharField(label="Name I use", max_length=200, required=False)
    pronunciation = forms.CharField(label="How to say it", max_length=200, required=False)
    pronouns = forms.CharField(max_length=50, required=False)
    phone = forms.CharField(max_length=40, required=False)
    emergency_contact = forms.CharField(
        max_length=200, required=False, help_text="Only staff see it, and each look is logged."
    )
    listed = forms.BooleanField(label="My name may be on public lists", required=False)
    share_contact = forms.BooleanField(
        label="My rank leader may see my phone and email", required=False
    )

    @classmethod
    def of(cls, member: Member, data: Any = None) -> OwnDetailsForm:
        names = ("used_name", "pronunciation", "pronouns", "listed", "share_contact")
        initial = {name: getattr(member.person, name) for name in names}
        initial |= {"phone": member.phone, "emergency_contact": member.emergency_contact}
        return cls(data, initial=initial)


class AddressForm(forms.Form):
    """What an account signs in by."""

    email = forms.EmailField(label="Signs in as")


class EraseForm(forms.Form):
    """The name once more, so that nobody is erased by a slip."""

    name = forms.CharField(label="Type their name", max_length=400)

    def __init__(self, wanted: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.wanted = wanted
        self.fields["name"].help_text = wanted

    def clean_name(self) -> str:
        if plain(self.cleaned_data["name"]) != plain(self.wanted):
            raise forms.ValidationError("That is not the name above.")
        return self.wanted
