"""The room assay."""
