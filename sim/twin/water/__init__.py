"""What water carries between hand-overs, and the records the compiled code reads."""
