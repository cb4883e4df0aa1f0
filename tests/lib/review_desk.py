"""A review page as its reviewer uses it: words answered, rows chosen, saved."""

from __future__ import annotations

from typing import Any

from django.test import Client

from bandops.lib.imports.questions import Question
from tests.lib.imports_help import accept_shown, upload, words


class Reviewer:
    """Somebody of staff with a file under review."""

    def __init__(self, client: Client, kind: str, content: bytes, name: str = "file.csv") -> None:
        self.client = client
        self.page = upload(client, kind, content, name)
        self.url = self.page.request["PATH_INFO"]

    @property
    def text(self) -> str:
        return words(self.page)

    @property
    def plan(self) -> Any:
        return self.page.context["plan"]

    @property
    def asked(self) -> dict[str, Question]:
        return {question.text: question for question in self.page.context["questions"]}

    @property
    def read(self) -> dict[str, str]:
        """The words that are read without being asked about, and what each is read as."""
        return {question.text: question.preset for question in self.page.context["presets"]}

    def send(self, what: str, **data: Any) -> str:
        """Press a button of the page; what the next page says."""
        self.page = self.client.post(self.url, {"what": what, **data}, follow=True)
        return self.text

    def answer(self, **meanings: str) -> str:
        """Say what words mean: a value behind “means:”, leave or add (_ for a blank)."""
        asked = self.asked | {q.text: q for q in self.page.context["presets"]}
        return self.send(
            "words", **{asked[text.replace("_", " ")].name: v for text, v in meanings.items()}
        )

    def save(self) -> str:
        self.page = accept_shown(self.client, self.page)
        return self.text
