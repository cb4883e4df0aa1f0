"""The rehearsal call: a page a rank for one rehearsal.

Start at `services.ask_for_call`, `pdf.render_call`.
Stands on: people, ranks, field, events, absences, rehearsals, lineup, publishing, learning.
"""
