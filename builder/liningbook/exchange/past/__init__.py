"""What a repository says of the past of a rule."""
