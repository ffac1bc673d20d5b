"""The slip: one visit or one parcel, from the document a clerk writes to the parts the book keeps."""
