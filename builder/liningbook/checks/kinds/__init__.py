"""One module a family of findings."""
