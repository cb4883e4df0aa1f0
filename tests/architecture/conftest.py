"""The worlds that the site as a whole is looked at in; prints of the same text are made once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from bandops.lib.pdf import render
from tests.architecture.counting import counted_world
from tests.architecture.privacy import Scene, make_scene
from tests.architecture.world import World, make_world, two_seasons
from tests.conftest import Kept
from tests.factories import Cast
from tests.keeping import LAYERS, Layer, Made

WRITE_PDF = render.write_pdf
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


def remembered(html: str) -> bytes:
    """Stands in for writing a print: a text that was printed before is not laid out again."""
    if html not in PRINTED:
        PRINTED[html] = WRITE_PDF(html)
    return PRINTED[html]


@pytest.fixture(autouse=True, scope="package")
def _prints_are_made_once() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(render, "write_pdf", remembered)
        yield
