"""`signrules measure`: how a figure is measured, what readings say, and where that is kept."""

from __future__ import annotations

import argparse
import datetime
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from signrules.cli.shared_options import FINE, Commands, demand_other_file, print_json, write_whole
from signrules.cli.standard_streams import named_file, readings_input, say_beside
from signrules.errors import JobError, SignrulesError
from signrules.model.wording import listed_names, nearest_name, shown_value

if TYPE_CHECKING:
    from signrules.measuring import Measurement, Records

PARTS = {"printers": "printer", "inks": "ink", "sheets": "sheet", "materials": "material"}
"""The tables of a shop file that hold measured figures, and the option for a part of each."""


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "measure", help="how a shop measures its figures, and what the readings say"
    )
    command.add_argument("figure", nargs="?", metavar="FIGURE", help="left out, all are listed")
    command.add_argument(
        "--readings",
        type=readings_input,
        metavar="FILE",
        help="a readings file, .toml or .csv, or - for standard input",
    )
    command.add_argument(
        "--from-records", action="store_true", help="take the readings kept beside the shop file"
    )
    command.add_argument("--date", type=_date_option, metavar="DATE", help="when it was measured")
    command.add_argument(
        "--range", action="store_true", help="from the least to the greatest reading"
    )
    command.add_argument("--form", action="store_true", help="write a form to print, with -o")
    command.add_argument("--history", action="store_true", help="show what the records hold")
    command.add_argument("-o", "--output", metavar="FILE", help="of a form, or of a plot")
    command.add_argument(
        "--shop", type=named_file, metavar="FILE", help="the shop file that states the figure"
    )
    for table, name in PARTS.items():
        command.add_argument(f"--{name}", metavar="ID", help=f"which of its {table}")
    command.add_argument("--dry-run", action="store_true", help="show what would be written")
    command.add_argument("--record", action="store_true", help="keep the readings beside the file")
    command.add_argument(
        "--leave-shop", action="store_true", help="with --record: leave the shop file as it is"
    )
    command.add_argument(
        "--new-entry", action="store_true", help="the shop file does not have the ID yet"
    )
    command.add_argument("--force", action="store_true", help="write what a warning doubts")
    command.add_argument("--format", choices=("text", "json"), default="text")
    command.set_defaults(run=_run_measure)


def _date_option(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"found {text[:20]!r}, expected a date such as 2027-02-03"
        ) from None


def _run_measure(options: argparse.Namespace) -> int:
    # Options that need less go first: each way asks only for what it uses.
    if options.history:
        return _show_history(options)
    if options.figure is None:
        return _list_figures(options)
    if options.form:
        return _write_form(options)
    if options.readings is None and not options.from_records:
        return _tell_procedure(options)
    return _measure_figure(options)


def _list_figures(options: argparse.Namespace) -> int:
    from signrules.measuring.figure_list import procedures
    from signrules.measuring.instructions import figures_text

    if options.format == "json":
        print_json([each.to_dict() for each in procedures()])
    else:
        sys.stdout.write(figures_text())
    return FINE


def _tell_procedure(options: argparse.Namespace) -> int:
    from signrules.measuring.figure_list import procedure_of
    from signrules.measuring.instructions import procedure_text

    procedure = procedure_of(options.figure)
    if options.format == "json":
        print_json(procedure.to_dict())
    else:
        sys.stdout.write(procedure_text(procedure))
    return FINE


def _write_form(options: argparse.Namespace) -> int:
    from signrules.measuring.figure_list import procedure_of
    from signrules.sheet.measure_form import measure_form

    if options.output is None:
        raise SignrulesError("--form: found no -o FILE, expected where to write the form")
    write_whole(options.output, measure_form(procedure_of(options.figure)))
    say_beside(options.output, f"{options.output}: a form for {options.figure}")
    return FINE


def _measure_figure(options: argparse.Namespace) -> int:
    _demand_shop(options)
    _demand_known_part(options)
    measurement = _measured(options)
    if options.format == "json":
        print_json(measurement.to_dict())
    else:
        sys.stdout.write(_plain(measurement.text()))
    if options.shop is None:
        return FINE
    part = _named_part(options, measurement.keys)
    if options.from_records and not (part and measurement.keys):
        return FINE  # The shop file was only named to find the records.
    # All refusals come before the first write, so that shop file and records agree.
    _demand_no_doubt(options, measurement)
    if options.record:
        _demand_new_readings(options, measurement, part)
    # A figure without a key goes to the records alone; asked to be stated, it is refused with
    # words.
    states = not options.leave_shop and bool(measurement.keys or not options.record)
    if states:
        _state_figure(options, measurement, part)
    if options.record:
        _keep_readings(options, measurement, part, stated=states)
    return FINE


def _demand_no_doubt(options: argparse.Namespace, measurement: Measurement) -> None:
    if measurement.doubts and not options.force:
        raise SignrulesError(
            f"{measurement.figure}: nothing was written. {' '.join(measurement.doubts)} If it is"
            " right as it is, use --force"
        )


def _demand_new_readings(options: argparse.Namespace, measurement: Measurement, part: str) -> None:
    """Refuse readings that are on record: counted twice, they would feign a narrower tolerance."""
    from signrules.measuring import read_records, record_of, records_path

    path = records_path(options.shop)
    if record_of(measurement, part).is_among(read_records(path).records):
        raise SignrulesError(
            f"{path}: found the same readings on record since {measurement.date}, expected new"
            " ones; without --record the figure is stated alone"
        )


def _state_figure(options: argparse.Namespace, measurement: Measurement, part: str) -> None:
    from signrules.measuring.shop_lines import state_in_shop, stated_line

    if measurement.keys and not part:
        table = measurement.keys[0]
        raise SignrulesError(
            f"{measurement.figure}: found no --{PARTS[table]} ID, expected which of the {table} in"
            f" {options.shop} it is of{_listed_ids(options.shop, table)}"
        )
    line = stated_line(measurement, part.partition(".")[2])
    if not options.dry_run:
        state_in_shop(line, Path(options.shop))
    # A dry run has done all that can fail, but for the write itself.
    _tell(options, "Would state" if options.dry_run else "Stated", options.shop, str(line))


def _keep_readings(
    options: argparse.Namespace, measurement: Measurement, part: str, *, stated: bool
) -> None:
    from signrules.measuring import append_record, drift, read_records, record_of, records_path

    record = record_of(measurement, part, stated=stated)
    path = records_path(options.shop)
    if options.dry_run:
        _tell(options, "Would record", str(path), "the readings, as one line")
        return
    append_record(record, path)
    _tell(options, "Recorded", str(path), drift(read_records(path), record.figure, part).text())


def _demand_shop(options: argparse.Namespace) -> None:
    needs = {
        "--record": options.record,
        "--from-records": options.from_records,
        "--dry-run": options.dry_run,
        "--leave-shop": options.leave_shop,
    }
    for option, given in needs.items():
        if given and options.shop is None:
            raise SignrulesError(f"{option}: found no --shop FILE, expected the shop file")
    if options.leave_shop and not options.record:
        raise SignrulesError("--leave-shop: found no --record, expected both")
    if options.record and options.from_records:
        raise SignrulesError(
            "--from-records: found --record too, expected one of them: these readings are on record"
        )
    if options.readings is not None and options.from_records:
        raise SignrulesError("--from-records: found --readings too, expected one of them")


def _demand_known_part(options: argparse.Namespace) -> None:
    """A part needs a shop file, and is one that it has, where it has others of that kind."""
    for table, name in PARTS.items():
        id = getattr(options, name)
        if not id:
            continue
        if options.shop is None:
            raise SignrulesError(f"--{name}: found no --shop FILE, expected the shop file")
        ids = _ids_of(options.shop, table)
        if ids and id not in ids and not options.new_entry:
            near = nearest_name(id, tuple(ids))
            meant = f"{shown_value(near)} perhaps" if near else f"one of {listed_names(ids)}"
            raise SignrulesError(
                f"--{name}: found {shown_value(id)}, which {options.shop} does not have, expected"
                f" {meant}; --new-entry adds it"
            )


def _listed_ids(shop: str, table: str) -> str:
    ids = _ids_of(shop, table)
    return f": {listed_names(ids)}" if ids else ""


def _ids_of(shop: str, table: str) -> list[str]:
    """The ids in a table of a shop file; what is wrong with the file is told where it is written
    into.
    """
    from signrules.documents.reading import plain_data

    try:
        document = plain_data(Path(shop))
    except JobError:
        return []
    found = document.get(table) if isinstance(document, dict) else None
    return [str(id) for id in found] if isinstance(found, dict) else []


def _measured(options: argparse.Namespace) -> Measurement:
    from signrules.measuring import measure, read_records, records_path
    from signrules.measuring.figure_list import procedure_of
    from signrules.measuring.figure_records import pooled_readings

    source: Any = options.readings
    if options.from_records:
        records = read_records(records_path(options.shop))
        _tell_skipped(records)
        part = _named_part(options, procedure_of(options.figure).goes_to)
        source = pooled_readings(records.records, options.figure, part or None)
    # Only the command looks at the clock.
    date = options.date or datetime.date.today()
    return measure(options.figure, source, date=date, as_range=options.range)


def _named_part(options: argparse.Namespace, keys: Sequence[str]) -> str:
    """The part that a figure is of, such as `printers.flatbed`; empty where none is named.

    A figure that no shop file holds may be of any.
    """
    named = {table: getattr(options, name) for table, name in PARTS.items()}
    given = [f"{table}.{id}" for table, id in named.items() if id]
    if len(given) > 1:
        raise SignrulesError(f"{' and '.join(given)}: found both, expected one of them")
    if given and keys and not given[0].startswith(f"{keys[0]}."):
        raise SignrulesError(
            f"{options.figure}: found {given[0]}, expected --{PARTS[keys[0]]} ID: it is a figure of"
            f" {keys[0]}"
        )
    return given[0] if given else ""


def _show_history(options: argparse.Namespace) -> int:
    from signrules.measuring import read_records, records_path
    from signrules.measuring.drifting import history_text
    from signrules.measuring.figure_list import procedure_of
    from signrules.measuring.history_picture import history_svg

    if options.shop is None:
        raise SignrulesError("--history: found no --shop FILE, expected the shop file")
    if options.figure is not None:
        # Raises for a figure that nobody knows, where records would merely be empty.
        procedure_of(options.figure)
    path = records_path(options.shop)
    records = read_records(path)
    if options.output is None:
        sys.stdout.write(_plain(history_text(records, options.figure)))
        return FINE
    if options.figure is None:
        raise SignrulesError("-o: found no FIGURE, expected the one to plot")
    _tell_skipped(records)
    demand_other_file(options.output, str(path))
    write_whole(options.output, history_svg(records, options.figure))
    say_beside(options.output, f"{options.output}: {options.figure} over time")
    return FINE


def _tell_skipped(records: Records) -> None:
    for each in records.skipped:
        print(f"Skipped: {each}.", file=sys.stderr)


def _tell(options: argparse.Namespace, did: str, where: str, what: str) -> None:
    """What was written; beside JSON on standard error."""
    # Standard output holds one JSON document and nothing else.
    stream = sys.stdout if options.format == "text" else sys.stderr
    print(_plain(f"{did} in {where}:\n{what}"), file=stream)


def _plain(text: str) -> str:
    from signrules.reports.text_report import plain_text

    return plain_text(text)
