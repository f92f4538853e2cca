"""The libraries of the extra `artwork`, loaded when they are needed."""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

from signrules.errors import SignrulesError


def shapely_part(name: str = "") -> ModuleType:
    """shapely, or a module of it. Raises SignrulesError where it is not installed."""
    return _library("shapely", name)


def numpy_library() -> ModuleType:
    """numpy, which comes with shapely. Raises SignrulesError where it is not installed."""
    return _library("numpy", "")


def fonttools_part(name: str) -> ModuleType:
    """A module of fontTools. Raises SignrulesError where it is not installed."""
    return _library("fontTools", name)


def pikepdf_library() -> ModuleType:
    """pikepdf, which comes with the plugin. Raises SignrulesError where it is not installed."""
    return _library("pikepdf", "", "signrules-artwork")


def _library(package: str, name: str, source: str = "signrules[artwork]") -> ModuleType:
    module = f"{package}.{name}" if name else package
    try:
        # What is loaded is asked for many thousand times, which import_module takes long for.
        return sys.modules.get(module) or import_module(module)
    except ModuleNotFoundError:
        raise SignrulesError(
            f"artwork needs the package {package.lower()}, which is not installed: pip install"
            f" '{source}'"
        ) from None
