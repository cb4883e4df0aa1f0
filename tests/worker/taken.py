"""A mail server that takes every mail, and keeps it as a file for the test to count."""

from __future__ import annotations

from django.core.mail.backends import filebased


class EmailBackend(filebased.EmailBackend):
    """By its name no backend that keeps mails where the site runs."""
