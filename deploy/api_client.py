"""A client for the API, with Python's standard library alone: an example to start from.

BANDOPS=https://band.example.org TOKEN=bo_… python3 api_client.py lineup
BANDOPS=https://band.example.org TOKEN=bo_… python3 api_client.py out "Ana Nightjar" 4
"""

from __future__ import annotations

import json
import os
import re
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid
from collections.abc import Iterator
from typing import Any

TRIES = 4
AGAIN = (429, 502, 503, 504)


class Problem(Exception):
    """What the site refuses, in its words."""


class Client:
    """The site at an address, asked with a token."""

    def __init__(self, address: str, token: str) -> None:
        self.address, self.token = address.rstrip("/"), token

    def rows(self, path: str, **narrowed: object) -> Iterator[dict[str, Any]]:
        """All rows of a list, page by page."""
        url: str | None = f"/api/v1/{path}/?{urllib.parse.urlencode(narrowed)}"
        while url:
            body, headers = self._ask("GET", url)
            yield from body
            found = re.search(r'<([^>]*)>; rel="next"', headers.get("Link", ""))
            url = found[1] if found else None

    def get(self, path: str) -> tuple[Any, str]:
        """What is there, and its ETag."""
        body, headers = self._ask("GET", f"/api/v1/{path}/")
        return body, headers["ETag"]

    def post(self, path: str, body: object) -> Any:
        """Do something once, however often the line breaks: each try has the same key."""
        key = {"Idempotency-Key": str(uuid.uuid4())}
        return self._ask("POST", f"/api/v1/{path}/", body, key)[0]

    def patch(self, path: str, body: object, etag: str) -> Any:
        """Change what was read; a Problem if it has changed since."""
        return self._ask("PATCH", f"/api/v1/{path}/", body, {"If-Match": etag})[0]

    def _ask(
        self, method: str, url: str, body: object = None, more: dict[str, str] | None = None
    ) -> tuple[Any, Any]:
        url = url if url.startswith("http") else self.address + url
        data = None if body is None else json.dumps(body).encode()
        headers = {"Authorization": f"Bearer {self.token}", "Accept": "application/json"}
        headers |= {"Content-Type": "application/json"} if data else {}
        for attempt in range(TRIES):
            request = urllib.request.Request(  # noqa: S310 (the address is the caller's)
                url, data, headers | (more or {}), method=method
            )
            try:
                with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
                    return json.loads(answer.read() or b"null"), answer.headers
            except urllib.error.HTTPError as error:
                if error.code not in AGAIN or attempt == TRIES - 1:
                    raise Problem(_words(error)) from error
            except OSError:
                if attempt == TRIES - 1:
                    raise
            time.sleep(2**attempt)
        raise AssertionError("not reached")


def _words(error: urllib.error.HTTPError) -> str:
    """A problem (RFC 9457) as a sentence; what is none by its status."""
    try:
        said = json.loads(error.read())
    except ValueError:
        return f"{error.code} {error.reason}"
    faults = [f"{e.get('pointer', '')} {e['detail']}".strip() for e in said.get("errors", [])]
    return " ".join(filter(None, [said["title"], said.get("detail"), *faults]))


def show_lineup(site: Client) -> None:
    """Print who marches where at the next event that has a published lineup."""
    today = time.strftime("%Y-%m-%d")
    published = (e for e in site.rows("events", since=today) if e["revision"])
    event = next(published, None)
    if event is None:
        print("Nothing is published.")
        return
    lineup, _ = site.get(f"events/{event['id']}/lineup")
    print(f"{event['name']}, {event['date']}, revision {lineup['revision']}")
    for seat in lineup["seats"]:
        print(f"{seat['segment']:12} {seat['spot']:8} {seat['member'] or 'open'}")


def report_out(site: Client, name: str, event: int) -> None:
    """Say that a member is out of an event."""
    found = [m for m in site.rows("members") if m["name"] == name]
    if len(found) != 1:
        raise Problem(f"{len(found)} members are called {name}.")
    made = site.post("absences", {"member": found[0]["id"], "kind": "out", "event": event})
    print(f"{made['name']} is {made['state']} as {made['kind']}.")


def main(arguments: list[str]) -> int:
    """Do what the command line says."""
    site = Client(os.environ["BANDOPS"], os.environ["TOKEN"])
    try:
        if arguments == ["lineup"]:
            show_lineup(site)
        elif len(arguments) == 3 and arguments[0] == "out":
            report_out(site, arguments[1], int(arguments[2]))
        else:
            print(__doc__)
            return 2
    except Problem as problem:
        print(problem, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
