"""The space of cases: cells, boxes, regions and what is left uncovered."""
