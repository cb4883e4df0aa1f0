"""How dates and times are written wherever a page or a print does not say it by itself."""
