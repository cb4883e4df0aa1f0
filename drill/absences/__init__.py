"""Who is out, limited, late, leaving early or doubtful, and what that means for each segment.

Tables: Absence.
Start at `core/availability.standing`, `services/absences`, `services/standings.availability`.
Stands on: people, ranks, events.
"""
