"""What a document says about a person: its kind, its number, the name and the age."""
