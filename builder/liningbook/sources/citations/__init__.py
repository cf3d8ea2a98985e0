"""References, from BibTeX and CSL-JSON."""
