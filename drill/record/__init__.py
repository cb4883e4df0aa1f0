"""The marching record: who really marched, stood by or was offered, and everybody's share.

Tables: MarchingRecord, RecordEntry, LetterRule.
Start at `services/`, `queries`.
Stands on: people, ranks, events, absences, rehearsals, lineup.
"""
