"""The vault: keys of a book, rows and pictures locked away, and the process that keeps opened keys."""
