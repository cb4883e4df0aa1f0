"""Typed reading of the environment: one place, and a loud failure for what is missing."""

from __future__ import annotations

from pathlib import Path

from environs import Env

ROOT = Path(__file__).resolve().parent.parent
env = Env()
