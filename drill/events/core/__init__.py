"""Computation on events, without Django."""
