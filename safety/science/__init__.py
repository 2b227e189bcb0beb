"""Formulas that estimate: salt, heat, water, growth, statistics; never a finding.

Every coefficient is an argument or comes from a cited data file. What is returned is an
estimate with its range; judging records by published limits is ``safety.judge``.
"""
