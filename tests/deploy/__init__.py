"""What runs the site: backups and their restoring, units, the proxy."""
