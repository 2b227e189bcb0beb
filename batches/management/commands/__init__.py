"""Commands of the records."""
