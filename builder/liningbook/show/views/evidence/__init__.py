"""Study tables as a reader meets them."""
