"""Exact analysis: cells, regions, what the rules mean."""
