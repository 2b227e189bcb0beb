"""What people saw and did: rows are added, never changed; a correction points back.

Writes go through `recording`, reads through `lookups`, judgements through `judging`.
"""
