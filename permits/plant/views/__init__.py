"""Pages of the plant; one file a noun."""
