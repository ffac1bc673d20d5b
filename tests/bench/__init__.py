"""How fast the house is, beside the least that the same work could cost. Run by hand, never by pytest."""
