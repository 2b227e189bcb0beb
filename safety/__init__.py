"""What makes food safe: units, published limits, processes and the judge."""
