"""Who works on which spot and what is new to them: set sheets, the relearn list, the practice
log's pages.

Start at `services/learning.learners`, `services/studies.studies`, `services/set_sheets`.
Stands on: people, ranks, field, fundamentals, shows, events, rehearsals, lineup, backups.
"""
