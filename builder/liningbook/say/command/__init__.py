"""What the command line says: how it is called, why it stops, how far it is. English alone, like all that it prints."""
