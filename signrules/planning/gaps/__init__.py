"""Which gap each pass is given: what is worth trying, how high planes lie, what is cheapest."""
