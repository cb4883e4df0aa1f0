"""The game-day desk: somebody drops out, somebody steps in, at once and with one step back;
after the cut-off by the director's word.

Tables: DayChange, Clash, FillRequest.
Start at `services`, `core/fills`.
Stands on: people, ranks, equipment, field, events, outfits, absences, rehearsals, lineup,
record, publishing.
"""
