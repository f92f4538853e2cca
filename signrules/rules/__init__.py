"""Rules: how one is declared, what it yields, the engine that runs them, and a module for each
built-in set.
"""
