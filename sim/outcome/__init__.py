"""What a run came to: measures as a row, and tables of days and events."""
