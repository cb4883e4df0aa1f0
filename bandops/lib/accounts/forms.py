"""Signing in and one's own password."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import SetPasswordForm

from bandops.lib.accounts.models import User
from bandops.lib.accounts.passwords import LONGEST, normal


class LinkForm(forms.Form):
    email = forms.EmailField(
        label="Email", widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )


class PasswordSignInForm(forms.Form):
    address = forms.EmailField(
        label="Email", widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )
    password = forms.CharField(
        strip=False,
        max_length=LONGEST,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    not_mine = forms.BooleanField(
        label="This is not my device",
        required=False,
        help_text="You are signed out when the browser closes, and no page is kept on it.",
    )


class NewPasswordForm(SetPasswordForm):  # type: ignore[type-arg]
    """The new password twice, and the present one where there is one; pasting and password
    managers are welcome."""

    field_order = ["present", "new_password1", "new_password2"]

    def __init__(self, user: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(user, *args, **kwargs)
        if user.has_usable_password():
            self.fields["present"] = forms.CharField(
                label="Present password",
                strip=False,
                widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
            )
            self.order_fields(self.field_order)

    def clean_present(self) -> str:
        present = normal(self.cleaned_data["present"])
        if not self.user.check_password(present):
            raise forms.ValidationError("That is not your present password.")
        return present

    def clean_new_password1(self) -> str:
        return normal(self.cleaned_data["new_password1"])

    def clean_new_password2(self) -> str:
        return normal(self.cleaned_data["new_password2"])
