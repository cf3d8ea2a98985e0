"""From files to trees of located values."""
