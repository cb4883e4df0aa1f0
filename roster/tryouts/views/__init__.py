"""Pages of tryouts."""
