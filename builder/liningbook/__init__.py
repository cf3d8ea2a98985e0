"""Liningbook: write, check and print a practice's house protocol of pulp protection."""

__version__ = "0.1.0"
