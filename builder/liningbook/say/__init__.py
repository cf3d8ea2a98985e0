"""Every word that a reader sees."""
