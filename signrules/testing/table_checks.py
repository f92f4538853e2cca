"""What the author of a table tests: that it asks for no less than the law beneath it."""

from __future__ import annotations

from collections.abc import Mapping

from signrules.plugins import Plugins


def assert_no_looser_table(plugins: Plugins, *, but: Mapping[str, str] | None = None) -> None:
    """Raises AssertionError where a table asks for less than the law that it amends, or a built-in.

    `but` are limits that are meant to be looser, as `table quantity`, such as
    "our-county braille.clear_space", each with the reason. Raises ValueError for one that has no
    reason, or that is not looser: what is excused must be there.
    """
    excused = dict(but or {})
    looser = {
        f"{table.id} {row.quantity}": f"{table.id} is looser than {row.law}: {row}"
        for table in plugins.standards.values()
        for row in table.looser or ()
    }
    for name, reason in excused.items():
        if not reason or name not in looser:
            known_names = ", ".join(looser) or "none, since no table is looser"
            raise ValueError(f"{name!r}: {reason!r}: expected a reason, for one of {known_names}")
    texts = [text for name, text in looser.items() if name not in excused]
    assert not texts, "\n".join(texts)
