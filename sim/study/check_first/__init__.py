"""What to check first when something is amiss: likely causes, and in which order to act."""
