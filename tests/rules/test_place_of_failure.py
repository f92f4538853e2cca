"""In which line of whose file the code of a plugin failed."""

from __future__ import annotations

import os

import pytest

from signrules.rules.containment import Contained, call_contained

PYTHON = os.path.dirname(os.__file__)
FOLDERS = {"own": "invented-shop", "installed": os.path.join(PYTHON, "site-packages")}
FAILS = """def fail():
    values = []
    return values[1]
"""


def told_of_failure_in(file):
    names = {}
    exec(compile(FAILS, file, "exec"), names)
    with pytest.raises(Contained) as told:
        call_contained(names["fail"])
    return str(told.value)


@pytest.mark.parametrize("where", FOLDERS)
def test_the_line_of_a_plugin_is_told_wherever_it_lies(where):
    file = os.path.join(FOLDERS[where], "own.py")
    assert told_of_failure_in(file) == "IndexError: list index out of range (line 3 of own.py)"


def test_a_line_of_python_itself_is_not_told():
    file = os.path.join(PYTHON, "own.py")
    assert told_of_failure_in(file) == "IndexError: list index out of range"
