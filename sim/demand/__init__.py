"""Where the water goes: end uses of a household, and the draws they make."""
