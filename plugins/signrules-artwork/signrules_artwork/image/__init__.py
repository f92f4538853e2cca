"""The reader of separated images: TIFF and PNG."""
