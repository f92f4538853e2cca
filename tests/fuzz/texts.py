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
[inks.clear]
layer = "30 um"
[sheets.panel]
thickness = "3 mm"
size = ["600 mm", "450 mm"]
[sign_types.notice]
sheet = "panel"
text = ["{name}", "{second?}"]
visual = { height = { is = "20 mm", measured = 2027-02-03 }, above_floor = "{height?} mm" }
passes = [{ id = "all", ink = "clear", areas = [[0, 0, 9, 9]], builds = "visual" }]
[schedule]
columns = { room = "Room No." }
types = [{ type = "notice", where = { use = "way *" } }]
"""
SCHEDULE = """\
Room No.,Room name,Sign,height,quantity
214,ROOM 214 / STORES,notice,"2100,5",2
215,"ROOM ""215"", LEFT",notice,,1
"""
