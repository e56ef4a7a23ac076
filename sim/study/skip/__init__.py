"""The same house with work left undone, and its story."""
