"""The worlds that the site as a whole is looked at in; prints of the same text are made once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import weasyprint

from tests.architecture.counting import counted_world
from tests.architecture.privacy import Scene, make_scene
from tests.architecture.world import World, make_world, two_seasons
from tests.conftest import Kept
from tests.factories import Cast
from tests.keeping import LAYERS, Layer, Made

HTML = weasyprint.HTML
PRINTED: dict[str, bytes] = {}


def world_of(made: Made) -> World:
    cast = made["kept_cast"]
    return make_world(made["kept_band"], cast.staff, cast.member)


LAYERS["kept_world"] = Layer(world_of, below="kept_cast")
LAYERS["kept_counted"] = Layer(
    lambda made: counted_world(made["kept_band"], made["kept_cast"]), below="kept_cast"
)
LAYERS["kept_seasons"] = Layer(lambda made: two_seasons())
LAYERS["kept_scene"] = Layer(lambda made: make_scene())
LAYERS["kept_printed"] = Layer(lambda made: make_scene(), with_jobs=True)


@pytest.fixture
def kept_world(kept_worlds: Kept) -> object:
    return kept_worlds["kept_world"]


@pytest.fixture
def kept_counted(kept_worlds: Kept) -> object:
    return kept_worlds["kept_counted"]


@pytest.fixture
def kept_seasons(kept_worlds: Kept) -> object:
    return kept_worlds["kept_seasons"]


@pytest.fixture
def kept_scene(kept_worlds: Kept) -> object:
    return kept_worlds["kept_scene"]


@pytest.fixture
def kept_printed(kept_worlds: Kept) -> object:
    return kept_worlds["kept_printed"]


@pytest.fixture
def world(kept_world: World) -> World:
    """One season with a row of each kind."""
    return kept_world


@pytest.fixture
def worlds(kept_seasons: tuple[World, World, Cast]) -> tuple[World, World, Cast]:
    """The current season, the former one, the accounts of the current one."""
    return kept_seasons


@pytest.fixture
def scene(kept_scene: Scene) -> Scene:
    """Cai is limited until a review date, Dee not cleared, Gus not eligible, Eno doubtful."""
    return kept_scene


@pytest.fixture
def printed(kept_printed: Scene) -> Scene:
    """The same with its prints made and its mails sent."""
    return kept_printed


class Remembered:
    """Stands in for WeasyPrint's document: a text that was printed before is not laid out again."""

    def __init__(self, *, string: str, base_url: str) -> None:
        self._text, self._base = string, base_url

    def write_pdf(self, **options: Any) -> bytes:
        if self._text not in PRINTED:
            document = HTML(string=self._text, base_url=self._base)
            PRINTED[self._text] = bytes(document.write_pdf(**options) or b"")
        return PRINTED[self._text]


@pytest.fixture(autouse=True, scope="package")
def _prints_are_made_once() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weasyprint, "HTML", Remembered)
        yield
