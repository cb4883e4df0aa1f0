"""What marks say: figures, severity, agreement, the cut, and who goes where. No Django."""
