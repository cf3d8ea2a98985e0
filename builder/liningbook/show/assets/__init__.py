"""The fonts and scripts of the site, as files."""
