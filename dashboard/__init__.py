"""What people see: figures and the report."""
