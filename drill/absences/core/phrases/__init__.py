"""What people write about an absence (“late 4:30 (lab)”, “back Mon”), read as days and times."""
