"""One run of one policy: what happened, day by day."""
