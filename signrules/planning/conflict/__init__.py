"""Why there is no safe order: from what is stuck to a smallest set, in words."""
