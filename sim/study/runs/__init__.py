"""Running designs: batches, workers, what is kept, and going on after a stop."""
