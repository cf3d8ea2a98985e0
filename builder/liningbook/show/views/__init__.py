"""What is shown, chosen and ordered for its reader."""
