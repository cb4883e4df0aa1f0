"""A member stops: whatever names them in events to come follows, in one step, and spots are filled
where somebody is free.

Start at `services/following.follow_members`, `services/releasing.release_member`.
Stands on: people, ranks, events, rehearsals, lineup, backups, challenges, publishing, gameday,
travel.
"""
