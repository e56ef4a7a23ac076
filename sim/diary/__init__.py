"""A real house: what was read and done, the state of its parts, what comes next, how well that was told."""
