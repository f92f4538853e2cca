"""Dimension tables of published standards: data files, and their loader.

A table states; rules judge.
"""
