"""Formulas of the sciences that the work rests on; every coefficient is an argument.

Here are estimates and statistics, with their ranges. Nothing here judges: an estimate
never meets a limit. Published figures are in ``safety.limits``.
"""
