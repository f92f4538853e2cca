"""The reader of SVG."""
