"""From a list of doors to the work that makes them: signs on sheets, sheets on bed loads."""
