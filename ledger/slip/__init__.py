"""The room slip."""
