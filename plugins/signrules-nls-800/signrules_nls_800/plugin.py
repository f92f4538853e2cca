"""The hook: one table."""

from __future__ import annotations

from pathlib import Path

from signrules import Standard, hookimpl, load_standard

signrules_api = "1.0"


@hookimpl
def signrules_standards() -> list[Standard]:
    """Braille on paper."""
    return [load_standard(Path(__file__).with_name("nls_800.toml"))]
