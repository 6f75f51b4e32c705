"""The curated catalogue: YAML in, one SQLite file, read-only values out."""
