"""Ranks, their spots, who holds them and which alternates stand by in which order.

Tables: Rank, Spot, Holding, AlternatePlace.
Start at `services`, `queries.spots`, `queries.holders_on`.
Stands on: people.
"""
