"""What whoever runs the site needs: whether it is well, figures to scrape, logs without private
fields. ``health`` answers before anything else, ``metrics`` counts, ``logs`` writes."""
