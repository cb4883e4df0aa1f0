"""Ready for an event: who marches without what it asks for, what the store has to bring, what goes
on the truck.

Tables: Loaded.
Start at `services.ready.ready_for`.
Stands on: people, ranks, equipment, events, outfits, lineup.
"""
