"""How a job goes on from a sheet that is half printed: after a mishap, or a pass out of turn.

Begin with `next_steps`, which calls all others, in this order:

1. `measured_now` states the dots that were measured as they are;
2. `fixed_order` makes a job in which what is done comes first, `mishaps` adds how a sheet that was
   moved is put back, and `dots_answer` what the dots need (`more_layers` says how many layers,
   `added_layers` adds the pass that prints them);
3. that job is judged as any other, by `evaluation/live`;
4. `remaining` reads from its plan what is left to do, or what can no longer be done; then
   `rest_without` looks for what goes on all the same;
5. `strikes` says what a head strike asks for besides, `standing_now` what ink stands.

`next_text` puts the answer into words.
"""
