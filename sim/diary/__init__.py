"""A real house: what was read and done, what state that leaves its parts in, what comes next, how well it was told."""
