"""Which crew does which work on which day, in which order: numbers in, numbers out."""
