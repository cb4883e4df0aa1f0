"""Rehearsals in blocks, attendance at rehearsals and performances, and the log of who practised
which sets of which spot.

Tables: RehearsalBlock, Attendance, PracticeEntry, Practice.
Start at `services/rehearsals`, `services/attendance`, `services/practised.practised`.
Stands on: people, ranks, shows, events, absences.
"""
