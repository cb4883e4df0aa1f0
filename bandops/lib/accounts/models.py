"""Accounts: one a person, signed in by e-mail address."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, name: str = "", **fields: Any) -> User:
        """An account that signs in by link until a password is set."""
        password = fields.pop("password", None)
        user = self.model(email=clean_email(email), name=name, **fields)
        if password:
            user.set_password(password)
        else:
            user.set_unusable_password()
        user.full_clean(exclude=["password"])
        user.save()
        return user

    def get_by_natural_key(self, username: str | None) -> User:
        return self.get(email=clean_email(username or ""))


def clean_email(text: str) -> str:
    """The one spelling an address is stored and looked up in."""
    return text.strip().lower()


class User(AbstractBaseUser):
    """Who may sign in. What they may do follows from their roles in the season."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField(default=True)
    invited_at = models.DateTimeField(null=True, blank=True)
    joined_at = models.DateTimeField(null=True, blank=True)
    secret_changed_at = models.DateTimeField(null=True, blank=True)
    failed_sign_ins = models.PositiveIntegerField(default=0)
    session_round = models.PositiveIntegerField(default=0, db_default=0, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"

    acting_for: str = ""
    """whose deputy they are in the request under way; signed beside their name"""

    audit_called = "account"
    audit_said = {
        "sign in": "signed in",
        "fail to sign in": "noted a wrong password for {row}",
        "sign out everywhere": "signed {row} out on all devices",
        "change sign-in address": "changed the sign-in address of {row}",
        "close account": "closed the account of {row}",
        "open account": "opened the account of {row} again",
        "set password": "set their password",
        "invite": "invited {row}",
    }
    audit_hidden = ("password", "last_login")

    audit_final = True

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="user_email_once"),
        ]

    def __str__(self) -> str:
        return self.name or self.email

    def get_session_auth_hash(self) -> str:
        """What a session has to know: another password, or another round, ends it."""
        made = salted_hmac("bandops.session", f"{self.password}:{self.session_round}")
        return made.hexdigest()

    @property
    def signature(self) -> str:
        """The name under what they do now: 'Dana Ferrow, as deputy of Imogen Wray'."""
        return f"{self}, as deputy of {self.acting_for}" if self.acting_for else str(self)
