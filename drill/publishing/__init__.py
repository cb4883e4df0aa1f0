"""Revisions: publishing a lineup, its change notice, notices to people, prints and slips, and
spot cards.

Tables: Notice.
Start at `services/publishing.publish_lineup`, `services/notices`,
`services/print_kinds.render_print`.
Stands on: people, ranks, field, shows, events, absences, lineup, backups,
learning.
"""
