"""Evidence schemes and references."""
