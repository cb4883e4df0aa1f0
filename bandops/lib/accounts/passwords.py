"""What a password must not be. NIST SP 800-63B-4, 3.1.1.2: length and a block list, no rules of
composition."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import Any

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User

LONGEST = 256
FEWEST_GUESSES = 10**10
"""what somebody who reads a stolen table of hashes of the slow kind tries in years"""
TOO_EASY = "This password is easy to guess. Use a few words that do not belong together."
words_of: list[Callable[[User], list[str]]] = []
"""rooms tell what belongs to an account: names of its person, of the band and the season"""


def normal(password: str) -> str:
    """The one spelling that is hashed: the same letters typed on any device (NFC)."""
    return unicodedata.normalize("NFC", password)


class GuessValidator:
    """Refuses what is guessed early: common passwords and words, alone, repeated or padded,
    rows of keys, sequences, dates, and what belongs to the person."""

    def validate(self, password: str, user: Any = None) -> None:
        """ValidationError where it is easy."""
        from zxcvbn import zxcvbn

        known = ["marching", "band", "bandops", "drumline", "colorguard", "halftime"]
        if isinstance(user, User):
            known += [user.name, *user.name.split(), *user.email.replace("@", ".").split(".")]
            for words in words_of:
                known += words(user)
        said = [word.casefold() for word in known if len(word) > 2]
        looked_at = unicodedata.normalize("NFKC", password)[:72]
        if int(zxcvbn(looked_at, user_inputs=said, max_length=72)["guesses"]) < FEWEST_GUESSES:
            raise ValidationError(TOO_EASY, code="password_too_easy")

    def get_help_text(self) -> str:
        return "A few words that do not belong together are best."


class LengthValidator:
    """Not longer than the slow hash should have to read."""

    def validate(self, password: str, user: Any = None) -> None:
        """ValidationError above `LONGEST` letters."""
        if len(password) > LONGEST:
            raise ValidationError(f"At most {LONGEST} letters.", code="password_too_long")

    def get_help_text(self) -> str:
        return f"At most {LONGEST} letters."
