"""Readings that cannot be used are told with file, row and column, what was found and expected."""

from __future__ import annotations

from random import Random

import pytest
from measuring.examples import EXAMPLES

from signrules import ReadingsError, SignrulesError, measure, procedures
from signrules.measuring.figure_list import procedure_of


def faults(figure, readings, **options):
    with pytest.raises(ReadingsError) as caught:
        measure(figure, readings, **options)
    return [str(fault) for fault in caught.value.faults]


def changed(name, **keys):
    return EXAMPLES[name] | keys


def test_an_unknown_figure_names_the_nearest():
    assert faults("drop-sped", {}) == ["figure: found 'drop-sped', expected 'drop-speed' perhaps"]
    (told,) = faults("zzz", {})
    assert all(repr(each.figure) in told for each in procedures())


def test_all_faults_of_plain_data_are_told_at_once():
    rows = [{"extra": "1 mile", "best_step": 4}, {"extra": 1}, {"extra": 2, "best": 1}, 7]
    told = faults("drop-speed", {"carriage_speed": 800, "step": 0.01, "readings": rows})
    assert told[0].startswith("carriage_speed: found 800, expected a speed as text")
    assert "reads_to: found nothing, expected how finely the best step can be told" in told[1]
    assert any(fault.startswith("readings[0].extra: found '1 mile'") for fault in told)
    assert any(fault.startswith("readings[1].best_step: found nothing") for fault in told)
    assert "readings[2].best: found an unknown key, expected 'best_step' perhaps" in told
    assert "readings[3]: found 7, expected a table" in told


def test_too_few_readings():
    assert faults("load-minutes", changed("load-minutes", readings=[{"time": "4 min"}])) == [
        "readings: found 1 reading, expected a list of 2 or more readings"
    ]
    assert "found nothing" in faults("load-minutes", {"reads_to": "1 s"})[0]
    assert (
        "found 7, expected a list" in faults("load-minutes", {"reads_to": "1 s", "readings": 7})[0]
    )


def steps(*pairs, **settings):
    rows = [{"extra": extra, "best_step": step} for extra, step in pairs]
    return changed("drop-speed", readings=rows, **settings)


def test_the_same_gap_twice_is_no_fit():
    assert faults("drop-speed", steps((1, 10), (1, 11))) == [
        "readings: found the extra 1 mm in every reading, expected two different gaps or more: the"
        " same gap is not a fit"
    ]


def test_a_negative_drop_speed_is_none():
    (told,) = faults("drop-speed", steps((0, 20), (1, 10)))
    assert "a best step that falls by 0.1 mm with each mm of gap" in told
    assert "write the steps with the other sign" in told


def test_a_base_gap_below_the_sheet_is_none():
    (told,) = faults("base-gap", changed("base-gap", readings=steps((0, -5), (1, 20))["readings"]))
    assert "a base gap of -0.2 mm" in told


def test_a_volume_without_a_density():
    (told,) = faults("drop-speed", steps((0, 20), (1, 40), drop_volume="7 pL"))
    assert told.startswith("drop_density: found nothing, expected both volume and density")
    (told,) = faults("drop-speed", steps((0, 20), (1, 40), drop_density="1050 kg/m3"))
    assert told.startswith("drop_volume: found nothing")


def test_drops_that_never_fly_so_far():
    document = steps((0, 20), (1, 40), (2, 60), drop_volume="0.001 pL", drop_density="1000 kg/m3")
    with pytest.raises(SignrulesError):
        measure("drop-speed", document)


def test_drops_that_no_speed_takes_so_far():
    document = changed("drop-speed-by-marks", drop_volume="0.001 pL", drop_density="1 kg/m3")
    (told,) = faults("drop-speed-by-marks", document)
    assert told.startswith("readings: found numbers from which no figure follows (")


def test_a_feeler_below_nothing_is_none():
    rows = [{"sheet": 1, "off": -0.1}]
    (told,) = faults("sheet-bow", changed("sheet-bow", readings=rows))
    assert told.startswith("readings[0].off: found -0.1, expected ")
    assert told.endswith("at least 0 mm")


def test_marks_closer_than_drawn():
    document = changed("drop-speed-by-marks", drawn="1 mm")
    assert (
        "expected marks further apart than they were drawn"
        in faults("drop-speed-by-marks", document)[0]
    )


def sweep(*pairs):
    rows = [{"carriage_speed": f"{c} mm/s", "apart": apart} for c, apart in pairs]
    return changed("drop-speed-by-carriage", readings=rows)


def test_one_carriage_speed_is_no_sweep():
    (told,) = faults("drop-speed-by-carriage", sweep((300, 0.1), (300, 0.2)))
    assert told.startswith("readings: found 300 mm/s in every reading, expected two different")


def test_marks_that_close_up():
    (told,) = faults("drop-speed-by-carriage", sweep((300, 0.2), (600, 0.1)))
    assert "closer together at higher" in told


def test_an_axis_that_is_read_at_some_reloads_only():
    rows = [{"off_x": 0.1}, {"off_x": 0.2, "off_y": 0.1}, {"off_x": 0.0}]
    (told,) = faults("locating-error", changed("locating-error", readings=rows))
    assert told == "readings: found 1 reading along y, expected 3 as along x, or none"


def test_a_grid_that_is_a_line():
    rows = [{"x": x, "y": 0, "height": 0.0} for x in (0, 1, 2, 3)]
    (told,) = faults("bed-flatness", changed("bed-flatness", readings=rows))
    assert told == "readings: found 4 places, expected a grid: places that do not lie on one line"


def test_one_sheet_is_no_delivery():
    rows = [{"sheet": 1, "thickness": 3}, {"sheet": 1, "thickness": 3.1}]
    (told,) = faults("sheet-thickness", changed("sheet-thickness", readings=rows))
    assert told == "readings: found one sheet, expected two sheets of the delivery or more"


def test_a_print_lighter_than_bare():
    rows = [{"bare": "2 g", "printed": "1 g"}, {"bare": "1 g", "printed": "2 g"}]
    (told,) = faults("coverage", changed("coverage", readings=rows))
    assert told.startswith("readings[0].printed: found -1 g more than bare")


def test_growth_needs_warmth_and_growth():
    (told,) = faults("growth", changed("growth", warm_at=10))
    assert told.startswith("warm_at: found -11 K above `cold_at`")
    rows = [{"cold": 600, "warm": 599}, {"cold": 600, "warm": 599.1}]
    (told,) = faults("growth", changed("growth", readings=rows))
    assert "marks that shrink" in told


def timed(figure, column, *pairs):
    rows = [{column: size, "time": time} for size, time in pairs]
    return changed(figure, readings=rows)


@pytest.mark.parametrize(
    ("figure", "column"), [("swath", "length"), ("carriage-acceleration", "width")]
)
def test_times_need_two_sizes_and_grow(figure, column):
    (told,) = faults(figure, timed(figure, column, (100, "5 s"), (100, "6 s")))
    assert f"the {column} 100 mm in every reading" in told
    (told,) = faults(figure, timed(figure, column, (100, "6 s"), (200, "5 s")))
    assert f"expected more time for more {column}" in told


def test_strokes_that_leave_no_time_to_turn():
    document = timed("carriage-acceleration", "width", (100, "10 s"), (200, "30 s"))
    (told,) = faults("carriage-acceleration", document)
    assert "strokes that take no time to turn" in told


def test_one_alignment_is_read_once_at_each_place():
    rows = [{"x": 1, "best_step": 2}, {"x": 1, "best_step": 3}]
    (told,) = faults("alignment", changed("alignment", readings=rows))
    assert told == "readings: found two readings at 1 mm, expected one reading at each place"


def bounds(*pairs):
    return {"readings": [{"at": at, "good": good} for at, good in pairs]}


def test_a_bound_needs_good_and_bad():
    assert "good at every value" in faults("max-throw", bounds((1, "yes"), (2, True)))[0]
    assert "bad already at 1 mm" in faults("max-throw", bounds((1, "no"), (2, "yes")))[0]
    assert "expected yes or no" in faults("max-throw", bounds((1, "perhaps"), (2, "no")))[0]


def test_an_eye_that_is_not_sure_is_told():
    found = measure("max-throw", bounds((1, "yes"), (2, "no"), (3, "yes"), (4, "no")))
    assert (found.value.low, found.value.high) == (1, 2)
    assert "Good at 3 mm though bad at 2 mm already" in found.warnings[0]


def test_a_range_of_what_is_fitted_is_none():
    (told,) = faults("drop-speed", EXAMPLES["drop-speed"], as_range=True)
    assert "found --range" in told


@pytest.mark.parametrize("figure", [each.figure for each in procedures() if each.has_range])
def test_a_range_goes_from_the_least_to_the_greatest(figure):
    found = measure(figure, EXAMPLES[figure], as_range=True)
    assert found.meaning.startswith("from the ")
    assert found.value.low < found.value.nominal < found.value.high


@pytest.mark.parametrize(
    ("figure", "key", "value", "expected"),
    [
        ("coverage", "layers", 0, "a whole number from 1"),
        ("coverage", "layers", True, "a whole number from 1"),
        ("coverage", "reads_to", "0 g", "more than 0 g"),
        ("coverage", "density", 1.1, "text with a number and one of the units kg/m3"),
        ("growth", "cold_at", "21 C", "a number"),
        ("growth", "cold_at", float("nan"), "a number"),
        ("growth", "cold_at", 10**400, "a number from -1000000 to 1000000"),
        ("locating-error", "method", "", "a short name"),
        ("locating-error", "date", "yesterday", "a date such as 2027-02-03"),
        ("locating-error", "date", 7, "a date such as 2027-02-03"),
        ("locating-error", "figure", "drop-speed", "'locating-error'"),
        ("locating-error", "reads_to", "0.01", "no unit is written"),
    ],
)
def test_a_setting_that_is_none(figure, key, value, expected):
    (told,) = faults(figure, changed(figure, **{key: value}))
    assert told.startswith(f"{key}: found ")
    assert expected in told


def test_readings_of_one_figure_serve_the_other():
    assert measure("base-gap", EXAMPLES["drop-speed"]).figure == "base-gap"
    assert measure("drop-speed", EXAMPLES["base-gap"]).figure == "drop-speed"


def test_something_else_than_readings():
    with pytest.raises(TypeError, match="expected a mapping or a file, got int"):
        measure("drop-speed", 7)


VALUES = [0, -1, 1e-9, 1e6, 1e300, -1e300, 10**400, float("nan"), float("inf"), None, True, "", "0"]
VALUES += [
    "1 mm",
    "-3 mm",
    "1e30 mm",
    "1 m/s",
    "9 h",
    "5 pL",
    "75 g",
    "1 g/cm3",
    "yes",
    "no",
    [],
    {},
    [1],
]


@pytest.mark.parametrize("figure", EXAMPLES)
def test_readings_damaged_in_any_way_give_a_figure_or_an_error_of_ours(figure):
    random = Random(figure)
    procedure = procedure_of(figure)
    measured_fine = 0
    for _ in range(300):
        document = EXAMPLES[figure] | {
            "readings": [dict(row) for row in EXAMPLES[figure]["readings"]]
        }
        for _ in range(random.choice((1, 1, 2, 3))):
            table = random.choice((document, *document["readings"]))
            entries = procedure.settings if table is document else procedure.columns
            entry = random.choice([*entries, *procedure.columns[:1]])
            if random.random() < 0.8:
                table[entry.name] = random.choice(VALUES)
            else:
                table.pop(entry.name, None)
        try:
            found = measure(figure, document)
        except SignrulesError:
            continue
        measured_fine += 1
        assert found.value.low <= found.value.nominal <= found.value.high
        assert found.text()
        assert found.to_dict()["figure"] == figure
    assert 0 < measured_fine < 300


# --- files ----------------------------------------------------------------------------------------


def write(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


CSV = """\
carriage_speed,step,reads_to,date,extra,best_step
800 mm/s,10 um,0.5,2027-02-03,0,41
,,,,0 mm,42
800 mm/s,10 um,,,1,69
,,,,1,69.5
"""


def test_csv_and_toml_say_the_same(tmp_path):
    rows = [(0, 41), ("0 mm", 42), (1, 69), (1, 69.5)]
    settings = {"carriage_speed": "800 mm/s", "step": "10 um", "reads_to": 0.5}
    expected = measure("drop-speed", steps(*rows, **settings))
    found = measure("drop-speed", write(tmp_path, "a.csv", CSV))
    assert found.value == expected.value
    assert found.date.isoformat() == "2027-02-03"
    for figure in EXAMPLES:
        path = write(tmp_path, "a.toml", procedure_of(figure).example)
        assert measure(figure, path).value == measure(figure, EXAMPLES[figure]).value


def test_faults_of_a_table_name_row_and_column(tmp_path):
    text = CSV.replace("1,69\n", "one,69\n").replace(",,,,1,69.5", "900 mm/s,,,,1,")
    path = write(tmp_path, "a.csv", text)
    (told,) = faults("drop-speed", path)
    assert told.startswith("row 5, column carriage_speed: found '900 mm/s', expected '800 mm/s'")
    told = faults("drop-speed", write(tmp_path, "b.csv", text.replace("900 mm/s", "")))
    assert told[0].startswith("row 4, column extra: found 'one', expected a length")
    assert told[1].startswith("row 5, column best_step: found nothing")
    with pytest.raises(ReadingsError) as caught:
        measure("drop-speed", path)
    assert str(caught.value).startswith(f"{path}: 1 fault")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "row 1: found nothing"),
        ("extra;best_step\n0;1\n", "row 1: found columns that semicolons separate"),
        (
            "extra,best\n0,1\n",
            "row 1: found an unknown column 'best', expected 'best_step' perhaps",
        ),
        ("extra,zz\n0,1\n", "row 1: found an unknown column 'zz', expected one of"),
        ("extra,extra\n0,1\n", "row 1: found the column 'extra' twice"),
        ("extra,best_step\n0\n", "row 2: found 1 field, expected 2, as in the header"),
        ('extra,best_step\n"0,1\n', "found text that is not CSV"),
    ],
)
def test_a_table_that_is_none(tmp_path, text, expected):
    assert any(expected in fault for fault in faults("drop-speed", write(tmp_path, "a.csv", text)))


def test_files_that_cannot_be_read(tmp_path):
    assert "no such file" in faults("drop-speed", tmp_path / "none.toml")[0]
    assert "no such file" in faults("drop-speed", tmp_path / "none.csv")[0]
    assert "text that is not TOML" in faults("drop-speed", write(tmp_path, "a.toml", "a ="))[0]


def test_without_scipy_the_extra_is_named(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "scipy.special", None)
    monkeypatch.setitem(sys.modules, "scipy.stats", None)
    with pytest.raises(SignrulesError, match=r"pip install 'signrules\[measure\]'"):
        measure("load-minutes", EXAMPLES["load-minutes"])
    with pytest.raises(SignrulesError, match=r"pip install 'signrules\[measure\]'"):
        measure("drop-speed", EXAMPLES["drop-speed"])
