"""Which gap each pass is given: what is worth trying, how high planes lie, what is cheapest.

Begin with `cheapest`, the gaps for an order that is given. It walks through the order with
`order_walk`, which asks at each pass what it meets there and, where the gap is open, which gaps of
`gap_candidates` are safe. That module in turn asks `may_stand` for all that can be in the way of a
head at some time.

What holds in any order, without walking through one, is for the bounds: `plane_reaches` (how high
each plane lies), `kept_planes` (which stated gaps cannot all be kept), `alignment_windows` (which
alignments may serve) over `alignment_records`. `most_room` asks whether any gaps would do.
`own_sheet` comes last, once an order is chosen.
"""
