"""Pure functions on numbers, each with its source. Nothing here reads a file."""
