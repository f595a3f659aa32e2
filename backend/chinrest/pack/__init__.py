"""The guidance pack: its source, read and checked whole, and the compiler that makes one JSON of it."""
