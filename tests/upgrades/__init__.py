"""Databases of released versions, kept so that each can still be brought up to date."""
