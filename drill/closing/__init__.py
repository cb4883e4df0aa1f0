"""The drill of one event: a line closed up around a spot left open, a show cut, and either taken
back.

Start at `services`, `core/closing`.
Stands on: people, ranks, field, shows, events, lineup.
"""
