"""What is written of tryouts, and the figures made of it."""
