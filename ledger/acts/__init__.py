"""One thing a shop does, start to end, in one transaction. Each module reads as one page."""
