"""Questions about cases: one, many, read off."""
