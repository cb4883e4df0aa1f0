"""The basic movements as data, the engine that runs them count by count, footprints, study sheets
and evaluation sequences.

Tables: Fundamental, Abbreviation, PassedFundamental, EvaluationSequence.
Start at `core/engine.run`, `services/fundamentals.fundamentals_of`.
Stands on: people, ranks, tryouts, field.
"""
