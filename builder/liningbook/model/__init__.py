"""The protocol as the practice means it."""
