"""What is said of what becomes of a protocol over time."""
