"""What care is worth its money: ways of caring for a surface, compared by what they cost and what they give."""
