"""The clogging model: plain numbers in, plain numbers out."""
