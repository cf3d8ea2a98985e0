"""What a build makes."""
