"""The tests: the house, the science, the records, the documents and the browser."""
