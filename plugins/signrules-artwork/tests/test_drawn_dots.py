"""What `signrules draw` writes is read back by the plugin, by the processing step alone."""

from __future__ import annotations

import json

import pytest

import signrules
from signrules.cli import main

SHOP = {
    "signrules": 1,
    "printers": {"flatbed": signrules.sample_job()["printer"]},
    "inks": {"clear": {"role": "clear", "layer": "33 um"}},
    "sheets": {"acrylic": {"thickness": "3 mm"}},
    "layers": [{"step": "Braille", "ink": "clear", "layers": 24, "builds": "braille"}],
}
"""An invented shop that knows layers by their step and by nothing else."""


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_a_row_by_step_fits_what_was_drawn(tmp_path, monkeypatch, suffix):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shop.json").write_text(json.dumps(SHOP, default=str), encoding="utf-8")
    old = signrules.job_from_dict(signrules.sample_job())
    signrules.write_job(old, "old.toml")
    assert main(["draw", "old.toml", "-o", f"dots.{suffix}"]) == 0
    assert main(["read", f"dots.{suffix}", "-o", "new.toml", "--shop", "shop.json"]) == 0
    job = signrules.read_job("new.toml", shop=signrules.read_shop("shop.json"))
    assert job.passes[0].builds == ("dots.braille",)
    read, drawn = job.signs[0].braille, old.signs[0].braille
    assert read.cells == drawn.cells
    for name in ("dot_diameter", "dot_spacing", "cell_spacing"):
        stated = getattr(drawn, name).nominal
        assert getattr(read, name).nominal == pytest.approx(stated, abs=0.002)
