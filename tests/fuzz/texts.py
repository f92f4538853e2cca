"""Invented texts for the readers, each of them sound."""

from __future__ import annotations

RATES = """\
signrules_rates = 1
currency = "EUR"
markup = "15 %"
minimum = 20
dot = 0.001
[minute]
all = 0.85
[ink]
clear = 0.4
[sheet_m2]
acrylic = 60
[waste]
ink = "5 %"
[[fixed]]
name = "artwork"
price = "12.50"
"""
SHOP = """\
signrules = 1
[rules.clearance.margin]
accept_absence = "a reason"
[rules.contrast.reflectance]
level = "NOTE"
reason = "agreed with the client"
[rules.braille.cells]
off = "proofread on paper"
[plugins.house]
accept_absence = "not installed yet"
settings = { most = 3, word = "x" }
"""
SCHEDULE = """\
room,text,kind,standard,cells
214,ROOM 214 / STORES,permanent-room,us-ada-2010,⠗⠕⠕⠍
215,"ROOM ""215"", LEFT",directional,,
"""
