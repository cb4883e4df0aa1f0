"""Music pass-offs: which excerpts are to be played for a hearer, who passed which, and who has not.

Tables: Excerpt, SectionLeader, Hearing.
Start at `services.note_hearing`, `queries.board_of`.
Stands on: people.
"""
