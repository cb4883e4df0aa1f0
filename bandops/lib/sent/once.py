"""What is sent twice is done once: its key is written in the transaction of what it does."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.http import HttpRequest

from bandops.lib.sent.models import SentForm


class SentTwice(Exception):
    """It was done when it came first; ``where`` is the page that was answered with, if known."""

    def __init__(self, where: str) -> None:
        super().__init__("sent twice")
        self.where = where


@dataclass
class Claim:
    """The key of a request under way; ``is_written`` once something was done under it."""

    key: str
    is_written: bool = False

    def refuse_second(self) -> None:
        """SentTwice where it was done before."""
        found = SentForm.objects.filter(key=self.key).first()
        if found is not None and not self.is_written:
            raise SentTwice(found.where)

    def write(self) -> None:
        """Take the key in the current transaction; SentTwice where an earlier request has it.

        One that has it but has not committed is waited for: databases hold up the same key.
        """
        try:
            with transaction.atomic():
                SentForm.objects.create(key=self.key)
        except IntegrityError:
            self.refuse_second()
            raise
        self.is_written = True

    def led_to(self, where: str) -> None:
        """Keep the page of the answer, for whoever sends it again; also of what wrote no row, a
        mail that was sent."""
        SentForm.objects.update_or_create(key=self.key, defaults={"where": where})

    def give_back(self) -> None:
        """The same may be asked for again: what it answered was no page to go on from."""
        SentForm.objects.filter(key=self.key).delete()


def claim_of(request: HttpRequest, account: int) -> Claim | None:
    """The claim of a form; None for one without a mark of its own.

    The token that guards a form is masked anew for every page, and a part of a page sends
    ``X-Sent``: with the same mark the same fields were sent by one press.
    """
    mark = request.headers.get("X-Sent") or request.POST.get("csrfmiddlewaretoken")
    if not mark:
        return None
    said = hashlib.sha256()
    for text in (str(account), request.get_full_path(), mark, *_fields(request)):
        said.update(f"{len(text)}:{text}".encode("utf-8", "surrogatepass"))
    for name, files in sorted(request.FILES.lists()):
        for file in files:
            said.update(f"{name}:{file.name}:{file.size}:".encode("utf-8", "surrogatepass"))
            for chunk in file.chunks():
                said.update(chunk)
            file.seek(0)
    return Claim(said.hexdigest())


def _fields(request: HttpRequest) -> Iterable[str]:
    for name, values in sorted(request.POST.lists()):
        yield name
        yield from values
