"""A house whose rules fail where they are told to, for tests of what is said and done then."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import signrules

Where = Callable[[Any, signrules.Job], bool]


def _failing(name: str, each: str, where: Where) -> signrules.Rule:
    def judge(item, job):
        """A house rule.

        Why it matters: a test.
        A job that breaks it: any.
        One that meets it: none.
        """
        if where(item, job):
            raise RuntimeError("no")
        yield signrules.check("nothing", measured=0, most=0, unit="mm")

    return signrules.rule(f"ourshop.{name}", each=each, source=signrules.shop_practice("none"))(
        judge
    )


class House:
    """A plugin with such rules: of each the name, what it looks at one by one, and
    where it fails.
    """

    def __init__(self, **fails: tuple[str, Where]) -> None:
        self.rules = tuple(_failing(name, *how) for name, how in fails.items())

    @signrules.hookimpl
    def signrules_rule_sets(self):
        return [signrules.RuleSet("ourshop", self.rules)]


def options(accept: bool, **fails: tuple[str, Where]) -> dict[str, Any]:
    """What `evaluate` is told so that such rules judge, and perhaps so that the shop accepts that
    they fail.
    """
    plugins = signrules.load_plugins(objects=[House(**fails)])
    names = [placed.rule.name for placed in plugins.rules]
    accepted = {f"ourshop.{name}": "it is being mended" for name in fails} if accept else {}
    return {"plugins": plugins, "shop": signrules.Shop().accepting(accepted, names)}


def always(*_: object) -> bool:
    """Fails on everything."""
    return True


def ground_first(_: object, job: signrules.Job) -> bool:
    """Fails where the job's own sequence starts with the ground."""
    return job.sequence is not None and job.sequence[0] == "ground"
