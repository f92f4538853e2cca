"""Which gap each pass is given: which are worth trying, how high a plane can lie, the cheapest for
an order.
"""
