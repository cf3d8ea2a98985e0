"""What becomes of a protocol over time: what rests on a work, what a study touches, what changed, what is reported."""
