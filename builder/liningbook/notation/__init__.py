"""How the sources write numbers, ranges and units, exactly."""
