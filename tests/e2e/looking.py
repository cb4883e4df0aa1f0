"""What is wrong with a page in a browser."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.base import AXE_SCRIPT  # type: ignore[import-untyped]

from tests.e2e.conftest import Watched

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Only violations are read, so axe need not describe all that is well.
ONLY_WRONG = {"resultTypes": ["violations"]}
EVERYTHING = {"runOnly": {"type": "tag", "values": TAGS}, **ONLY_WRONG}
COLOURS = {
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
    **ONLY_WRONG,
}
OWN_BYTES = 25_000
"""half of what a page may weigh, as production sends it"""
CARD_BYTES = 30_000
# The whole answer describes each rule that there is; sending it takes as long as finding it.
FIND = "options => axe.run(document, options).then((found) => found.violations)"


def complaints(
    watched: Watched, where: str, options: dict[str, Any], *, again: bool = False
) -> list[str]:
    """axe's violations on what the browser shows, one line each; ``again`` on the same page."""
    if not again:
        watched.page.evaluate(AXE_SCRIPT)
    return [
        f"{where}: {v['id']}: {node['target']} {node['html'][:160]}"
        for v in watched.page.evaluate(FIND, options)
        for node in v["nodes"][:3]
    ]


def look(watched: Watched, path: str) -> list[str]:
    """Everything wrong with one page: axe in light, its colours in dark and in the sun."""
    page = watched.page
    page.emulate_media(color_scheme="light")
    watched.go(path)
    wrong = complaints(watched, path, EVERYTHING)
    own = watched.own_bytes()
    if own > OWN_BYTES:
        wrong.append(f"{path}: {own} bytes of our own styles and scripts")
    sideways = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    if sideways > 0:
        wrong.append(f"{path}: {sideways} px too wide")
    page.emulate_media(color_scheme="dark")
    wrong += complaints(watched, f"{path} (dark)", COLOURS, again=True)
    page.evaluate("document.documentElement.dataset.light = 'sun'")
    wrong += complaints(watched, f"{path} (sun)", COLOURS, again=True)
    return wrong
