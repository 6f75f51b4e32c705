"""Finding, showing and choosing woods: limits, criteria, ranking, explanation."""
