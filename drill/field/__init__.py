"""The field, its hashes and coordinates, and the words in which a band reads and writes them.

Tables: DrillSettings, CustomField.
Start at `core/spoken.py`, `services/writing.writer_of`, `services/entering.entry_of`.
Stands on: people.
"""
