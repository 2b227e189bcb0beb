"""How pages write what the records hold."""
