"""Signing in and one's own details."""

from __future__ import annotations

from django import forms
from django.contrib.auth.forms import SetPasswordForm


class LinkForm(forms.Form):
    email = forms.EmailField(
        label="Email", widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )


class PasswordSignInForm(forms.Form):
    address = forms.EmailField(
        label="Email", widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )
    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )


class NewPasswordForm(SetPasswordForm):  # type: ignore[type-arg]
    """Django's own checks; pasting and password managers are welcome."""
