"""Counterfoil. The table of contents follows when the rooms have landed."""
