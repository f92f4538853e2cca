"""Which order the items stand in: constructive orders, improvement, exact searches, bounds."""
