"""Gaps and an order for a job, the proof that they are the cheapest, conflicts, and the audit.

Begin with `planner`: it takes a machine (`physics/machine`) and gives back a plan or a conflict
(`plan`). In between

1. `order/canonical` makes a copy of the job in an order that its content alone decides;
2. `pipeline` runs the stages on it, from cheap to dear, until one proves an order or that there is
   none; its dict of stages is the table of contents of `order` and `gaps`;
3. `physics/replaying` does the order item by item, with the gaps of `gaps/cheapest`;
4. `setup_cost` counts what it costs; without an order `conflict` says why.

`audit` shares no code with any of that, and is called by `evaluation/live`. `why_here` explains a
plan afterwards. `predecessors` and `bitmasks` are tools.
"""
