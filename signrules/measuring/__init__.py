"""How a shop measures its figures: procedures, readings, what they say, and records of them."""

from signrules.measuring.drifting import Drift, drift, shop_with_drift
from signrules.measuring.entries import Entry
from signrules.measuring.figure_list import procedures
from signrules.measuring.figure_records import (
    Record,
    Records,
    append_record,
    read_records,
    record_of,
    records_path,
)
from signrules.measuring.measurement import Measurement, measure
from signrules.measuring.procedure import Procedure

__all__ = [
    "Drift",
    "Entry",
    "Measurement",
    "Procedure",
    "Record",
    "Records",
    "append_record",
    "drift",
    "measure",
    "procedures",
    "read_records",
    "record_of",
    "records_path",
    "shop_with_drift",
]
