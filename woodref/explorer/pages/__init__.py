"""One file a page or a family of pages. Each page is a function from an Ask to a Page."""
