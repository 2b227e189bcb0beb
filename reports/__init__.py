"""Documents: records become frozen sheets, and sheets become HTML, PDF and curves.

Only ``collect`` reads the records and only ``pdf`` knows the PDF engine. Nothing here
judges, and nothing here writes.
"""
