"""The files of a protocol: read with the place of every value, and edited."""
