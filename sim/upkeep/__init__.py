"""When a task is due: pure decisions over what was read or noticed."""
