"""What an approval covers, and how it is written into the sources."""
