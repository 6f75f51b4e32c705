"""The law as pure functions: which row applies to which wood, from where, on which day."""

from woodref.trade.listings import (
    Law,
    ListingRow,
    caution,
    is_listed,
    listings_for,
    restricting,
    said_of,
)

__all__ = ["Law", "ListingRow", "caution", "is_listed", "listings_for", "restricting", "said_of"]
