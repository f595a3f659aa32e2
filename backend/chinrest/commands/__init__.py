"""One module a command, each a thin layer over what does the work."""
