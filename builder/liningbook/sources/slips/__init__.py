"""What authors write otherwise than YAML and the format want it, and what they meant."""
