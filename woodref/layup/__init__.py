"""A pack of plies read from YAML, checked before the glue is spread, and told in the trade's words."""
