"""The papers: values in, bytes out; no database, no clock."""
