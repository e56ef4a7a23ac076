"""The twin in time: world, processes, chance and the history it writes; the only folder with a clock."""
