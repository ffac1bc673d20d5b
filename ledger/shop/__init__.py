"""What the owner sets up: settings, adopted rule files, shop facts, staff, instruments."""
