"""signrules: judges and orders the passes of a tactile or braille sign printed on a UV flatbed.

Every public name is exported here; what is not listed may change without notice. Names are loaded
when they are first used, so that `import signrules` stays cheap; nothing else happens at import.
`__init__.pyi` says the same to type checkers.
"""

from __future__ import annotations

from importlib import import_module

__version__ = "0.1.0"

_HOMES = {
    "artwork.areas": ("AreaLimits", "CoveredAreas", "covering_areas"),
    "artwork.braille_blocks": ("BrailleBlock", "BrailleReading", "read_braille"),
    "artwork.dot_drawing": ("DotDrawing", "DrawnSign", "dots_svg", "drawn_dots"),
    "artwork.dots": ("Dot", "DotFault"),
    "artwork.drawing": (
        "Artwork",
        "ArtworkLayer",
        "ArtworkPage",
        "FontMeasures",
        "Shape",
        "TextRun",
    ),
    "artwork.fingerprints": ("ChangedArtwork", "changed_artwork", "fingerprint_of"),
    "artwork.font_clauses": ("FontClause", "FontUse", "font_uses"),
    "artwork.fonts": ("measure_font",),
    "artwork.job_making": (
        "ArtworkChoices",
        "ArtworkJob",
        "document_from_artwork",
        "job_from_artwork",
    ),
    "artwork.letters": ("LetterMeasures", "measured_letters"),
    "artwork.reader": ("ArtworkReader",),
    "artwork_files": ("read_artwork",),
    "braille.dot_layout": ("BrailleLayout", "braille_layout"),
    "catalogue.materials": ("Material", "sample_job"),
    "documents": ("job_from_dict", "job_to_dict", "read_job", "write_job"),
    "documents.document_changes": ("changed",),
    "documents.plugin_tables": ("OwnData",),
    "errors": (
        "ArtworkError",
        "DocumentFault",
        "JobError",
        "NotEvaluated",
        "PatchError",
        "PathError",
        "PluginError",
        "RatesError",
        "ReadingsError",
        "RuleError",
        "ScheduleError",
        "ShopError",
        "SignrulesError",
    ),
    "estimating": (
        "Estimate",
        "EstimateLine",
        "Rates",
        "estimate",
        "rates_from_dict",
        "read_rates",
    ),
    "evaluation": ("Evaluation", "Live", "evaluate", "safe_order"),
    "job_graphs": ("Reason", "job_graph"),
    "hookspecs": ("API_VERSION", "hookimpl"),
    "many_jobs": ("ManyResult", "evaluate_many"),
    "measuring": (
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
    ),
    "model": (
        "Alignment",
        "Area",
        "ArtworkSource",
        "Braille",
        "Dial",
        "Gap",
        "Handling",
        "HeadAboveBed",
        "Ink",
        "Interval",
        "Job",
        "LayerUse",
        "Measured",
        "Media",
        "Minutes",
        "Mounting",
        "MovingBed",
        "Pass",
        "Pictogram",
        "Printer",
        "Raised",
        "Sign",
        "Spacers",
        "Surface",
        "Visual",
        "Waiver",
    ),
    "model.declaring": (
        "any_text",
        "calendar_day",
        "list_of",
        "one_number_of",
        "one_word_of",
        "plain_length",
        "plain_number",
        "plain_speed",
        "quantity_of",
        "said_text",
        "share_above_none",
        "short_name",
        "table_of",
        "toleranced_length",
        "whole_number",
    ),
    "model.plugin_data": ("plugin_data",),
    "physics.calibration": ("Tilt",),
    "physics.alignment_pattern": ("AlignmentReading", "read_alignment"),
    "physics.timeline": ("Printing", "Timeline"),
    "planning.why_here": ("account",),
    "planning.audit": ("audit",),
    "planning.plan": ("Conflict", "NoSafeOrder", "Plan"),
    "plugins": ("Plugins", "load_plugins"),
    "remedies.applying": ("apply_remedy",),
    "reports.estimate_report": ("estimate_csv", "estimate_text"),
    "reports.graph_pictures": ("graph_svg", "plan_svg"),
    "reports.mermaid": ("graph_mermaid", "plan_mermaid"),
    "reports.junit": ("junit",),
    "reports.sarif": ("sarif",),
    "reports.text_report": ("evaluation_text",),
    "rules.checks": (
        "Check",
        "Draft",
        "Level",
        "Outcome",
        "Source",
        "check",
        "common_practice",
        "from_memory",
        "geometry",
        "missing",
        "one_of",
        "published",
        "shop_practice",
        "standard_source",
        "stated_by_the_job",
    ),
    "rules.declaration": ("Rule", "RuleSet", "rule"),
    "rules.engine": ("Fault",),
    "rules.remedy": ("Remedy",),
    "rules.settings": ("setting",),
    "schedules.jobs": ("ScheduledJob", "ScheduledJobs", "jobs_from_schedule"),
    "schemas": ("SchemaError", "schema"),
    "sheet.page": ("run_sheet",),
    "shop": ("RuleChange", "Shop"),
    "shop_file": ("read_shop", "shop_from_dict"),
    "standards.dimension_tables": ("Standard", "load_standard"),
    "standards.common_ranges": ("together",),
    "whatif.mended_files": ("write_mended",),
    "whatif.headroom": ("Headroom", "Reach", "headroom"),
    "whatif.mending": ("Mended", "mend"),
    "whatif.next_figures": ("NextFigure", "what_to_measure"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

__all__ = ["__version__", *sorted(_HOME_OF)]


def __getattr__(name: str) -> object:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
