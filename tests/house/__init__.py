"""Tests that look after the house: arrows, numbers, docs, set-up."""
