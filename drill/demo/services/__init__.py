"""The demo's past, and its tryout week."""
