"""What is noted of two versions, beside their cases."""
