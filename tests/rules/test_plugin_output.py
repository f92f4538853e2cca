"""What plugins write to standard output goes aside, however often they call one another."""

from __future__ import annotations

import sys

from signrules.rules.plugin_output import OutputAside


def test_calls_within_calls_put_standard_output_back_at_their_end(capsys):
    before = sys.stdout
    with OutputAside():
        print("outer")
        with OutputAside():
            print("inner")
        print("outer again")
    assert sys.stdout is before
    print("ours")
    out, err = capsys.readouterr()
    assert out == "ours\n"
    assert err == "outer\ninner\nouter again\n"
