"""Backups of a whole installation: written in one go, read back, restored into an empty home."""
