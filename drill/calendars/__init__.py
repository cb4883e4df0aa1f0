"""Private calendar addresses and what their feeds say.

Tables: CalendarFeed.
Start at `services/calendar_entries.calendar_of`.
Stands on: people, ranks, events, rehearsals, lineup, challenges.
"""
