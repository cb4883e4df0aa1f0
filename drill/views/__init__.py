"""The drill's pages."""
