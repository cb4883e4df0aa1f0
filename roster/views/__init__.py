"""The roster's pages."""
