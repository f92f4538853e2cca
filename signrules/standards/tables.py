"""Dimension tables of published standards, read from data files."""

from __future__ import annotations

from attrs import frozen


@frozen
class Standard:
    """To be filled by the loader."""

    id: str
