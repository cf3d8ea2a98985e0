"""The commands that keep a protocol's evidence and its editions under control, a module each."""
