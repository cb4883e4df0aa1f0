"""A world: one row of everything that an address can name, its addresses, and who visits them."""

from tests.architecture.world.addresses import all_names, arguments, url_of
from tests.architecture.world.made import World, make_former_band, make_world, two_seasons
from tests.architecture.world.rows import (
    make_challenge,
    make_earlier_event,
    make_file,
    make_record_entry,
    make_rehearsal,
    make_sheets_file,
    publish,
)
from tests.architecture.world.visits import ROLES, client_of, outcome, undone

__all__ = [
    "ROLES",
    "World",
    "all_names",
    "arguments",
    "client_of",
    "make_challenge",
    "make_earlier_event",
    "make_file",
    "make_former_band",
    "make_record_entry",
    "make_rehearsal",
    "make_sheets_file",
    "make_world",
    "outcome",
    "publish",
    "two_seasons",
    "undone",
    "url_of",
]
