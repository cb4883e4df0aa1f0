"""The start page and the staff's week: what stands between now and a published lineup.

Start at `views.week`.
Stands on: people, ranks, tryouts, events, absences, lineup, backups, publishing, gameday.
"""
