"""Artwork: what a file of drawings says, and the job that is made of it.

Begin with `drawing`, which is what a plugin's `reader` makes of a file, and then with `job_making`.
Page by page this asks

1. `mapping` which layer becomes what, and `placing` where the signs lie (`cut_lines`);
2. `feature_parts` what on one layer is dots, and what letters; `areas` which rectangles cover it;
3. `sign_sections` what is measured of each sign: its braille (`sign_braille`, by `braille_reading`,
   `dots`, `lattice`, `braille_blocks`), and its letters (`letters`: of text by `fonts` and
   `altered_runs`, of outlines by `letter_regions` and `lines_as_read`).

What lies beneath these imports `geometry`, and shapely through `libraries`. By themselves stand
`dot_drawing` with `dot_pdf` (from a job to artwork), `font_clauses` (a font against a standard),
`set_letters` (text set in a font) and `fingerprints` (whether a file has changed since).
"""
