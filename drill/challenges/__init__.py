"""A member tries for another's spot in front of evaluators: rounds, blind marks, outcomes,
protected spots.

Tables: ChallengeRule, ChallengeRound, ChallengeCriterion, Challenge, ChallengeMark, ProtectedSpot.
Start at `services/`, `core/`.
Stands on: people, ranks, events, absences, lineup.
"""
