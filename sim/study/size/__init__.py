"""Which sizes cost least within the limits."""
