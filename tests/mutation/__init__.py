"""Puts small faults into formulas and counts which of them the tests notice.

    python -m tests.mutation.run [module ...] [--each 60] [--seed 1]

Published tools were looked at first. Those that fork a warm process change the bodies of functions only, and here
the limits, bands and constants of tables are what matters most; the one that changes any line starts a new
interpreter for every fault, which costs seconds where this costs a fraction of one.
"""
