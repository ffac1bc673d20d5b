"""The room acts."""
