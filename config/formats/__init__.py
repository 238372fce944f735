"""How Django itself reads and writes numbers and days, by language."""
