"""Ratios of times, each measured in one run on one machine. No test asserts any of them."""
