"""The drill's kinds of jobs."""
