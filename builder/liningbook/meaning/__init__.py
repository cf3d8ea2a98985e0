"""What the rules of a protocol say of a case."""
