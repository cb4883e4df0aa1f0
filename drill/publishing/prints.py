"""The prints of a revision that come with every publication."""

from __future__ import annotations

from drill.publishing.pdf.cards import render_cards
from drill.publishing.pdf.prints import render_assignments, render_lineup
from drill.publishing.pdf.slips import render_slips_of_told
from drill.publishing.services.print_kinds import PrintKind, add_print_kind

add_print_kind(PrintKind("lineup", 1, render_lineup, for_all=True))
add_print_kind(PrintKind("assignments", 2, render_assignments, for_all=True))
add_print_kind(PrintKind("slips", 3, render_slips_of_told, standing=False))
add_print_kind(PrintKind("cards", 4, render_cards, standing=False, for_all=True))
