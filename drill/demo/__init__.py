"""The invented band: its files loaded, its story told, and the site served.

Start at `manage.py demo`, `manage.py load_demo`.
Stands on: people, ranks, tryouts, music, equipment, field, fundamentals, shows, events, outfits,
rehearsals, lineup, publishing, record.
"""
