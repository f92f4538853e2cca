"""What the audit finds: what a plan says and is not so, and what is unsafe in its order."""

from __future__ import annotations

from attrs import define, field


@define
class Findings:
    """Sentences for people. What is `unsafe` is not held against a sequence that is only judged."""

    false: list[str] = field(factory=list)
    unsafe: list[str] = field(factory=list)

    def tell(self, sentence: str) -> None:
        """Add something that the plan says and that is not so."""
        self.false.append(sentence)

    def warn(self, sentence: str) -> None:
        """Add something that makes the order unsafe."""
        self.unsafe.append(sentence)
