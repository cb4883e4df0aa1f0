"""Who has what is worn, and setting what is worn."""
