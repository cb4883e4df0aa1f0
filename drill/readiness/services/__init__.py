"""How ready an event is, and what is on the truck."""
