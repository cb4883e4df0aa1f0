"""Forms of tryouts."""
