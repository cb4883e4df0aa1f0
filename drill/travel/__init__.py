"""The travel list of an event with a limit: made from a lineup, changed by hand, posted.

Start at `services/travel`, `core/travel.trip`.
Stands on: people, ranks, events, absences, lineup, backups.
"""
