"""python -m woodref."""

from woodref.cli.main import main

main()
