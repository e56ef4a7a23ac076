"""Reading sites and series from files; refused in one line."""
