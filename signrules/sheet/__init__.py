"""The run sheet: one page for the person at the machine."""
