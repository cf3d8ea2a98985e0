"""What readers made of the protocol, each in a file of their own."""
