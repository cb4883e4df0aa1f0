"""Pages of readiness."""
