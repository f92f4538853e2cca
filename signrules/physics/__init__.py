"""What stands where, how the head lies above it, and what happens when items are done."""
