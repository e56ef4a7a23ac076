"""Questions that run beside the server, and their answers on disk."""
