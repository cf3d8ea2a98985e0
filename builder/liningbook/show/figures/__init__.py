"""Each picture, drawn once."""
