"""Uniforms, instruments and equipment: what there is, whom it fits, who has it, and what is away.

Tables: Kind, Figure, Band; Item, ItemFigure, Move; Wearer, Measurement; Issue, Charge; Run, Ticket,
Inspection; InLine.
Start at `core.fitting.fit_all`, `services.issuing`, `queries.items`.
Stands on: people.
"""
