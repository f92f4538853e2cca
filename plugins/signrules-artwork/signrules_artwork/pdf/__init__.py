"""The reader of PDF."""
