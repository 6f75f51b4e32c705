"""The command line: reads the request, calls the house, prints the result's own sentences."""
