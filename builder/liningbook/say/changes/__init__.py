"""What is said of two versions: each change and what it does, what else differs, and what that asks of the practice."""
