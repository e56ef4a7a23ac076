"""Which intervals cost least within the limits."""
