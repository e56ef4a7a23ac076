"""What is asked: scenarios from TOML, recorded series from CSV."""
