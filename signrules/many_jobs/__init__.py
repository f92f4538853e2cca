"""Many jobs: evaluated in their order, each alone or with what the earlier ones left, and put in
the order that takes the least set-up.
"""
