"""The explorer: everything that reads, in a browser. A page is a function from what was asked to a Page;
Datasette serves it and the tables beside it. Nothing here writes."""
