"""Whether two descriptions may speak of one article: a victim's words and a shop's record."""
