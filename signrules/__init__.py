"""signrules: judges and orders the passes of a tactile or braille sign printed on a UV flatbed."""
