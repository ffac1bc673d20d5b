"""The room vault."""
