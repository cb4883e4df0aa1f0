"""A person at the pages: follows links, picks choices, presses buttons, and counts them."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urljoin

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client


@dataclass
class Form:
    """A form as it stands: what it sends, its lists, its buttons."""

    method: str
    action: str
    data: dict[str, str] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)
    options: dict[str, dict[str, str]] = field(default_factory=dict)
    buttons: dict[str, tuple[str, str]] = field(default_factory=dict)


class PageReader(HTMLParser):
    """Links and forms of a page, by the words that people see or hear."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: dict[str, str] = {}
        self.forms: list[Form] = []
        self._open: list[tuple[str, dict[str, str], list[str]]] = []
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        if tag in ("a", "button", "option", "label", "textarea"):
            self._open.append((tag, values, []))
        if tag == "form":
            self.forms.append(Form(values.get("method", "get"), values.get("action", "")))
        elif tag == "select" and self.forms:
            self._select = values.get("name", "")
            self.forms[-1].options[self._select] = {}
        elif tag == "input" and self.forms and values.get("name"):
            ticked = values.get("type") not in ("checkbox", "radio") or "checked" in values
            if ticked and values.get("type") != "file":
                self.forms[-1].data[values["name"]] = values.get("value", "")
                self.forms[-1].kinds[values["name"]] = values.get("type", "text")

    def handle_data(self, data: str) -> None:
        for _, _, texts in self._open:
            texts.append(data)

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open[-1][0] != tag:
            return
        _, values, texts = self._open.pop()
        text = " ".join("".join(texts).split())
        names = {text, values.get("aria-label", "")} - {""}
        if tag == "a":
            self.links = dict.fromkeys(names, values.get("href", "")) | self.links
        elif tag == "button" and self.forms:
            sent = (values.get("name", ""), values.get("value", ""))
            self.forms[-1].buttons |= dict.fromkeys(names, sent)
        elif tag == "textarea" and self.forms and values.get("name"):
            self.forms[-1].data[values["name"]] = "".join(texts).removeprefix("\n")
            self.forms[-1].kinds[values["name"]] = tag
        elif tag == "label" and self.forms:
            self.forms[-1].labels[text] = values.get("for", "")
        elif tag == "option" and self.forms and self._select in self.forms[-1].options:
            self.forms[-1].options[self._select][text] = values.get("value", text)
            if "selected" in values or self._select not in self.forms[-1].data:
                self.forms[-1].data[self._select] = values.get("value", text)


class Hand:
    """Somebody who begins at their first page."""

    def __init__(self, client: Client, page: str = "/") -> None:
        self.client, self.clicks, self.uploads = client, 0, 0
        self._picked: dict[str, str] = {}
        self._file: SimpleUploadedFile | None = None
        self._show(client.get(page, follow=True))

    def _show(self, response: Any) -> None:
        assert response.status_code == 200, response.status_code
        self.url = response.request["PATH_INFO"]
        self.text = response.content.decode()
        self.context = response.context
        self._read = PageReader(self.text)
        self._picked, self._file = {}, None

    def follow(self, label: str) -> None:
        """Click a link."""
        self.clicks += 1
        assert label in self._read.links, sorted(self._read.links)
        self._show(self.client.get(urljoin(self.url, self._read.links[label]), follow=True))

    def take_file(self, name: str, content: bytes) -> None:
        """Choose a file."""
        self.clicks, self.uploads = self.clicks + 1, self.uploads + 1
        self._file = SimpleUploadedFile(name, content)

    def pick(self, name: str, option: str) -> None:
        """Choose from a list, by the list's name."""
        self.clicks += 1
        (form,) = (form for form in self._read.forms if name in form.options)
        self._picked[name] = form.options[name][option]

    def press(self, label: str) -> None:
        """Press a button, with all of its form as it stands."""
        self.clicks += 1
        forms = [form for form in self._read.forms if label in form.buttons]
        assert forms, [list(form.buttons) for form in self._read.forms]
        form = forms[0]
        name, value = form.buttons[label]
        data: dict[str, Any] = form.data | self._picked | ({name: value} if name else {})
        if self._file is not None:
            data["file"] = self._file
        send = self.client.post if form.method == "post" else self.client.get
        self._show(send(urljoin(self.url, form.action), data, follow=True))
