"""Who is in the band this season: persons and members, instruments and parts, seasons and roles,
and who is looking at a page.

Tables: Instrument, Part, Person, DifferentPeople, Member, Qualification, Season, RoleGrant,
KeptWord.
Start at `services/`, `queries.members`, `viewer.viewer_of`; later rooms join through `ties`.
Stands on: the ground floor alone.
"""
