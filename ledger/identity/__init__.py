"""The room identity."""
