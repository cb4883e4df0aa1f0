"""A sign-in link for somebody whom no mail reaches, printed on the server."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from bandops.lib.accounts.links import SIGN_IN, link_for, link_minutes
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import record_view


class Command(BaseCommand):
    help = "Print a link that signs an account in once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--email", required=True, help="the account's email address")

    def handle(self, *args: Any, **options: Any) -> None:
        address = clean_email(options["email"])
        user = User.objects.filter(email=address, is_active=True).first()
        if user is None:
            raise CommandError(f"No account in use has the address {address}.")
        record_view(None, User._meta.db_table, user.pk, "a sign-in link on the server")
        self.stdout.write(
            f"{user} signs in once with this link, for {link_minutes()} minutes:\n"
            f"{link_for(user, SIGN_IN)}"
        )
