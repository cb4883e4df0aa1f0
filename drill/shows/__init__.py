"""Drill: shows, versions, sets, the dots that march them and where each stands; pictures, moves
and their checks, the import of coordinates.

Tables: Show, ShowVersion, DrillSet, Dot, DotMap, Position, Path, StepLimit.
Start at `services/motion.frames_of`, `services/versions`, `core/move_checks.findings`,
`pictures/picture.Picture`.
Stands on: people, ranks, field, fundamentals.
"""
