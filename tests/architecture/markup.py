"""What every page is checked for: its markup and its headers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

from bandops.lib.web.headers import HEADERS
from tests.answers import Response


class Markup(HTMLParser):
    """What a page is checked for."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.lang, self.h1, self.title = "", 0, ""
        self._in = ""
        self._posts: list[bool] = []
        self.feed(text)
        self.close()
        self._judge()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        self._in = tag
        if tag == "html":
            self.lang = values.get("lang", "")
        if tag == "h1":
            self.h1 += 1
        data = values.get("type") == "application/json"
        if tag == "style" or (tag == "script" and "src" not in values and not data):
            self.faults.append(f"inline {tag}")
        self._attributes(tag, values)
        if tag == "form":
            self._posts.append(values.get("method", "get").lower() == "post")
            self._token = False
        if tag == "input" and values.get("name") == "csrfmiddlewaretoken":
            self._token = True
            if not (self._posts and self._posts[-1]):
                self.faults.append("a token outside a form that posts")

    def _attributes(self, tag: str, values: dict[str, str]) -> None:
        for name, value in values.items():
            if name == "style" or name.startswith("on"):
                self.faults.append(f"{tag} {name}={value}")
            if name in ("href", "src", "action", "hx-get", "hx-post") and re.match(
                r"(https?:)?//|javascript:|data:", value
            ):
                self.faults.append(f"{tag} leads away: {value}")

    def handle_endtag(self, tag: str) -> None:
        self._in = ""
        if tag == "form" and self._posts.pop() and not self._token:
            self.faults.append("a form that posts without a token")

    def handle_data(self, data: str) -> None:
        if self._in == "title" and not self.title:
            self.title = data.strip()

    def _judge(self) -> None:
        if self.lang != "en":
            self.faults.append("no language")
        if not self.title:
            self.faults.append("no title")
        if self.h1 != 1:
            self.faults.append(f"{self.h1} first headings")


DIRECTIVES = (
    "frame-ancestors 'none'",
    "form-action 'self'",
    "object-src 'none'",
    "base-uri 'none'",
    "script-src 'self'",
    "script-src-attr 'none'",
    "style-src 'self'",
    "style-src-attr 'none'",
)


def headers_wrong(response: Response, kept_as: str = "no-store") -> Iterator[str]:
    """What a response lacks."""
    policy = response.get("Content-Security-Policy", "")
    if "default-src 'self'" not in policy or "unsafe" in policy or "*" in policy:
        yield f"policy: {policy}"
    for directive in DIRECTIVES:
        if directive not in policy:
            yield f"policy without {directive}"
    for name, value in (
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Permissions-Policy", HEADERS["Permissions-Policy"]),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ):
        if response.get(name) != value:
            yield f"{name}: {response.get(name)}"
    if response.get("Referrer-Policy") not in ("same-origin", "strict-origin"):
        yield f"Referrer-Policy: {response.get('Referrer-Policy')}"
    kept = response.get("Cache-Control", "")
    if response.status_code == 200 and not ("private" in kept and kept_as in kept):
        yield f"may be kept on the way: {kept!r}"
