"""What the outputs say: the edition, the chart, the rules, readings, and what does not fit on paper."""
