"""The travel list of an event with a limit: made from a lineup, changed by hand, posted, and
who is told when it changes.

Tables: Posting, TravelNotice.
Start at `services/travel`, `core/travel.trip`.
Stands on: people, ranks, events, absences, lineup, backups, publishing.
"""
