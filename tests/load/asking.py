"""Requests at their times, from many threads, each timed from when it was due."""

from __future__ import annotations

import http.client
import threading
import time
import urllib.parse
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

TIMEOUT = 60
GOOD = (200, 204, 302, 304)
Ask = Callable[[], int]


@dataclass
class Timed:
    """Seconds of all answers, and the codes that were none of the good ones."""

    seconds: list[float] = field(default_factory=list)
    wrong: list[int] = field(default_factory=list)

    def at(self, share: float) -> float:
        """The seconds that so large a share of the answers took at most."""
        ordered = sorted(self.seconds)
        return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def get(port: int, path: str, session: str = "") -> Ask:
    """Asks for a page."""
    return lambda: _ask(port, "GET", path, session, None)


def post(port: int, path: str, session: str, data: dict[str, str]) -> Ask:
    """Sends a form, with the token that guards it."""
    token = "t" * 32
    return lambda: _ask(port, "POST", path, session, data | {"csrfmiddlewaretoken": token})


def _ask(port: int, method: str, path: str, session: str, data: dict[str, str] | None) -> int:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=TIMEOUT)
    headers = {"Cookie": f"sessionid={session}; csrftoken={'t' * 32}"}
    body = None
    if data is not None:
        body = urllib.parse.urlencode(data)
        headers["Content-Type"] = "application/x-www-form-urlencoded"
    try:
        line.request(method, path, body, headers)
        answer = line.getresponse()
        answer.read()
        return answer.status
    except OSError:
        return 0
    finally:
        line.close()


def in_turn(asks: Sequence[Ask]) -> Timed:
    """One after the other, each timed by itself."""
    found = Timed()
    for ask in asks:
        start = time.perf_counter()
        code = ask()
        found.seconds.append(time.perf_counter() - start)
        if code not in GOOD:
            found.wrong.append(code)
    return found


def spread(asks: Sequence[Ask], seconds: float, threads: int = 64) -> Timed:
    """All of them, evenly over so many seconds; 0 is all at once."""
    found, lock = Timed(), threading.Lock()
    start, gap = time.perf_counter(), seconds / max(len(asks), 1)
    queue = list(enumerate(asks))[::-1]

    def work() -> None:
        while True:
            with lock:
                if not queue:
                    return
                number, ask = queue.pop()
            due = start + number * gap
            time.sleep(max(0.0, due - time.perf_counter()))
            code = ask()
            with lock:
                found.seconds.append(time.perf_counter() - due)
                if code not in GOOD:
                    found.wrong.append(code)

    crew = [threading.Thread(target=work) for _ in range(min(threads, len(asks)))]
    for one in crew:
        one.start()
    for one in crew:
        one.join()
    return found
