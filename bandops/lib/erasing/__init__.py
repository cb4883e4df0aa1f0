"""Texts that have to go from everywhere: out of every table, the audit among them, and kept files.

``texts`` finds and replaces in a text or a JSON value; ``everywhere`` goes through the tables.
"""
