"""What stands where, how the head comes to lie above it, and what happens when the items of a job
are done.
"""
