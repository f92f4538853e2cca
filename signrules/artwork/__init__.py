"""Artwork: what a file of drawings says, and the job that is made of it."""
