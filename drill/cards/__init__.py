"""What members and rank leaders see on their phones: the spot card and the rank's page.

Start at `views`.
Stands on: people, ranks, equipment, field, shows, events, absences, rehearsals, lineup, backups,
publishing, gameday.
"""
