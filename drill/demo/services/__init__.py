"""The demo's past, its tryout week and its music."""
