"""Candidate changes computed for each rule, and the search that keeps those which work."""
