"""Who marches each spot: the problem, the solver and its proof, the checker, drafts, and staff's
orders (pins, blocks, spots left open, named backups).

Tables: Lineup, LineupRow, Pin, Block, OpenSeat, Backup.
Start at `services/problem_builder.build`, `core/solver.solve`, `core/check.violations`,
`services/lineups`.
Stands on: people, ranks, music, equipment, field, fundamentals, shows, events, outfits,
absences, rehearsals.
"""
