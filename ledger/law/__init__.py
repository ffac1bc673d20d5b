"""The room law."""
