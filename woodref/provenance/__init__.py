"""The stock book: an append-only ledger of lots and items, traced, judged and told truthfully."""
