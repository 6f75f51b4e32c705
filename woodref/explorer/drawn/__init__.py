"""Pictures as SVG: where marks, lines and words stand. Pure: from results to text, nothing is read."""
