"""Thirty invented shops, from small desktop flatbeds to beds of three metres; none is real."""

from __future__ import annotations

from typing import Any

from scenario import sign_job

SHOPS: dict[str, tuple[Any, ...]] = {
    # bed, base gap, free, throw, gap, head, carriage, drops, dpi, tolerance, volume and density
    "desktop-a5": ("desk", 0.8, 0.4, 3, 3.0, 22, "300 mm/s", "5 m/s", 1440, 0.03, 3.5, 1010),
    "desktop-a4": ("desk", 1.0, 0.5, 3, 3.0, 30, "350 mm/s", "6 m/s", 1200, 0.03, 4, 1020),
    "desktop-a3": ("desk", 1.5, 0.8, 4, 6.0, 33, "500 mm/s", "6 m/s", 720, 0.04, 6, 1050),
    "desktop-thick": ("desk", 2.0, 1.0, 5, 50.0, 54, "400 mm/s", "7 m/s", 720, 0.05, 10, 1080),
    "desktop-slow": ("desk", 1.2, 0.6, 4, 2.0, 25, "90 mm/s", "4 m/s", 2400, 0.02, 2, 1000),
    "cabinet": ("mid", 1.5, 1.0, 4, 10.0, 60, "700 mm/s", "6.5 m/s", 600, 0.06, 12, 1060),
    "cabinet-fine": ("mid", 1.0, 0.5, 3, 8.0, 60, "600 mm/s", "8 m/s", 1200, 0.03, 7, 1050),
    "cabinet-clear": ("mid", 1.5, 0.8, 5, 15.0, 70, "800 mm/s", "7 m/s", 600, 0.06, 35, 1100),
    "table": ("mid", 2.0, 1.0, 6, 60.0, 100, "1 m/s", "6 m/s", 720, 0.08, 14, 1080),
    "table-metal": ("mid", 1.8, 0.9, 5, 100.0, 120, "900 mm/s", "6 m/s", 600, 0.06, 13, 1150),
    "table-glass": ("mid", 1.8, 0.9, 5, 80.0, 90, "1 m/s", "7 m/s", 720, 0.05, 15, 1090),
    "table-watery": ("mid", 1.2, 0.6, 3, 20.0, 60, "800 mm/s", "9 m/s", 900, 0.04, 5, 990),
    "table-syrup": ("mid", 2.5, 1.0, 4, 20.0, 60, "500 mm/s", "4 m/s", 360, 0.1, 80, 1250),
    "table-wide-drop": ("mid", 2.0, 1.0, 6, 20.0, 72, "600 mm/s", "5 m/s", 300, 0.12, 160, 1200),
    "table-low-gap": ("mid", 0.5, 0.2, 2, 5.0, 40, "500 mm/s", "8 m/s", 1200, 0.03, 6, 1050),
    "hall": ("wide", 2.0, 1.2, 8, 100.0, 200, "1.5 m/s", "6 m/s", 600, 0.1, 12, 1070),
    "hall-fast": ("wide", 2.0, 1.5, 6, 120.0, 400, "2.4 m/s", "8 m/s", 360, 0.15, 30, 1080),
    "hall-array": ("wide", 2.5, 1.5, 6, 110.0, 700, "2 m/s", "7 m/s", 720, 0.1, 10, 1080),
    "hall-board": ("wide", 3.0, 1.5, 8, 60.0, 300, "1.2 m/s", "6 m/s", 450, 0.12, 42, 1100),
    "hall-fine": ("wide", 1.5, 1.0, 4, 50.0, 200, "1 m/s", "7 m/s", 1440, 0.05, 4, 1040),
    "hall-old": ("wide", 4.0, 2.0, 10, 40.0, 150, "800 mm/s", "6 m/s", 300, 0.2, 42, 1050),
    "hall-stone": ("wide", 3.0, 1.5, 8, 150.0, 180, "900 mm/s", "7 m/s", 400, 0.15, 30, 1120),
    "jig": ("desk", 1.0, 0.4, 3, 4.0, 22, "450 mm/s", "6 m/s", 1200, 0.03, 5, 1060),
    "jig-spare": ("desk", 1.0, 0.4, 3, 4.0, 54, "450 mm/s", "6 m/s", 900, 0.04, 6, 1060),
    "school": ("desk", 1.5, 0.7, 4, 5.0, 33, "400 mm/s", "5 m/s", 720, 0.05, 8, 1050),
    "museum": ("mid", 1.5, 0.8, 5, 25.0, 60, "600 mm/s", "6 m/s", 1200, 0.04, 7, 1080),
    "ferry-yard": ("wide", 2.0, 1.0, 6, 50.0, 150, "1 m/s", "6 m/s", 600, 0.08, 14, 1070),
    "orchard": ("mid", 1.3, 0.6, 4, 10.0, 60, "700 mm/s", "7 m/s", 720, 0.05, 12, 1060),
    "lighthouse": ("mid", 1.6, 0.8, 5, 12.0, 80, "750 mm/s", "6 m/s", 600, 0.06, 18, 1080),
    "nameplates": ("desk", 0.9, 0.4, 3, 2.5, 25, "300 mm/s", "6 m/s", 1440, 0.03, 4, 1030),
}

BEDS = {"desk": (300, 420), "mid": (1200, 900), "wide": (3200, 2000)}
SHEETS = {
    # material, thickness in mm, share of the bed, bow in mm for each metre of the longer side
    "desk": ((0.5, "pvc"), (1, "petg"), (1.5, "abs"), (2, "polystyrene"), (3, "acrylic")),
    "mid": (
        *((3, "acrylic"), (5, "polycarbonate"), (6, "phenolic"), (8, "acrylic")),
        *((0.8, "stainless-steel"), (2, "aluminium"), (3, "aluminium-composite"), (4, "glass")),
    ),
    "wide": (
        (10, "pvc-foam"),
        (19, "pvc-foam"),
        (20, "acrylic"),
        (12, "glass"),
        (1.5, "aluminium"),
    ),
}
BOW_EACH_METRE = {"glass": 1.0, "aluminium": 4.0, "stainless-steel": 4.0}
"""In mm; of others up to 6 mm."""

LAYERS = ("4 um", "8 um", "12 um", "20 um", "33 um +- 2 um", "45 um")
HEIGHTS = (16, 25, 40, 50)


def shop_job(name: str) -> dict[str, Any]:
    """The job of a shop: a sign on a sheet of one of the materials that it prints on."""
    kind, gap, free, throw, most, head, carriage, drops, dpi, tolerance, volume, density = SHOPS[
        name
    ]
    number = list(SHOPS).index(name)
    thickness, material = SHEETS[kind][number % len(SHEETS[kind])]
    bed = BEDS[kind]
    speed_mm_s = float(carriage.split()[0]) * (1000 if carriage.endswith(" m/s") else 1)
    acceleration = (4, 8, 12)[number % 3]
    printer = {
        "bed": list(bed),
        "base_gap": gap,
        "min_clearance": free,
        "max_throw": throw,
        "gap": _gap_control(number, most),
        "head_length": head,
        "carriage_speed": carriage,
        "drop_speed": drops,
        "resolution": dpi,
        "landing_tolerance": tolerance,
        "drop_volume": f"{volume} pL",
        "drop_density": f"{density} kg/m3",
        "locating": {"pins": "0.05 mm", "stops": "0.4 mm", "pencil": "1.5 mm"},
        "minutes": {"load": 2 + number, "gap": 1, "alignment": 10 + number},
        "swath": head * 0.9,
        "swath_passes": (2, 4, 6, 8, 16)[number % 5],
        "carriage_acceleration": f"{acceleration} m/s2",
        # Room to take up the speed, and a fifth more.
        "overrun": round(1.2 * speed_mm_s**2 / (2000 * acceleration), 1),
    }
    longer = min(0.9 * max(bed), 3050)
    bow = min(5.0, BOW_EACH_METRE.get(material, 6.0) * longer / 1000)
    sheet = {
        "id": "panel",
        "material": material,
        "thickness": f"{thickness} mm +- {thickness / 20} mm",
        "size": [0.9 * bed[0], 0.9 * bed[1]],
        "bow": round(bow, 2),
        "hold": "vacuum",
        "vacuum_pressure": f"{2 + number} kPa",
        "friction": 0.3,
    }
    job = sign_job(printer=printer, media=[sheet], temperature=18 + number % 9)
    job["inks"][0]["layer"] = LAYERS[number % 3]
    job["inks"][1]["layer"] = _clear_layer(dpi, volume)
    return _with_sizes(job, HEIGHTS[number % len(HEIGHTS)])


def _gap_control(number: int, most: float) -> dict[str, Any]:
    if number % 2:
        return {"control": "dial", "max": most, "step": 0.05}
    return {"control": "spacers", "spacers": ["0.3 mm", "0.5 mm", "1 mm", "2 mm"]}


def _clear_layer(dpi: int, volume: float) -> str:
    """The layer of four drops on each dot, which cure to nine tenths of what is laid; in um."""
    wet = 4 * volume * dpi**2 / 25.4**2 / 1000
    return f"{min(60.0, max(6.0, 0.9 * wet)):.1f} um"


def _with_sizes(job: dict[str, Any], height: float) -> dict[str, Any]:
    raised = job["signs"][0]["raised"]
    raised |= {
        "height": f"{height} mm",
        "width": f"{height * 0.8} mm",
        "stroke": f"{height * 0.12:.2f} mm",
        "spacing": f"{height * 0.2:.2f} mm",
        "line_spacing": f"{height * 1.5} mm",
    }
    return job
