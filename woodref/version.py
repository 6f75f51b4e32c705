"""The version of the program and of the catalogue it carries."""

__version__ = "0.1.0"
