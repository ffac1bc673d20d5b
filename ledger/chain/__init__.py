"""The exact bytes of a book: entries, parts, tree, seals, proofs. FORMAT.md tells a stranger all of it.

Everything here is values in, values out: no disk, no clock, no chance. Keys come in as a function that
signs; salts and moments come in as arguments.
"""
