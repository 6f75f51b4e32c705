"""woodref: materials reference for people who laminate wood and veneer."""

__version__ = "0.1.0"
