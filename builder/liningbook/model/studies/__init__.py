"""The files of studies to what a protocol knows of them."""
