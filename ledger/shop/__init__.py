"""The room shop."""
