"""The words of the look-up: what its scripts say."""
