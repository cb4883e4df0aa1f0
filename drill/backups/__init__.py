"""What happens if one more drops out: coverage, the backup plan of the week, and who is named in
readiness for a spot.

Tables: BackupPlan, Lesson.
Start at `core/coverage`, `core/backup_plan`, `services/plans`, `services/coverage`.
Stands on: people, ranks, field, shows, events, absences, rehearsals, lineup, record.
"""
