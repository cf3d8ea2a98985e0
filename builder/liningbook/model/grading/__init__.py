"""Grades and judgements as the sources write them."""
