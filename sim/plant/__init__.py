"""What the water passes: pump, pressure tank, pipe, cartridges, carbon and UV, as equations over numbers."""
