"""Games, parades, trips and rehearsals, their segments, who travels, and the drill that one event
marches alone.

Tables: Event, Segment, TravelList, Traveller, EventVersion.
Start at `queries.events`, `queries.current_versions`, `services/events`; later rooms join through
`ties`.
Stands on: people, field, shows.
"""
