"""From analysis to bytes."""
