"""What people do, miss and notice."""
