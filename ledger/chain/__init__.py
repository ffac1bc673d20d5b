"""The room chain."""
