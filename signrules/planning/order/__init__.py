"""Which order the items stand in: constructive orders, improvement, exact searches, bounds.

Begin with `attempts`: every order goes through it, and `step_trouble` tells it whether one is safe.
`planning/pipeline` calls the others, mostly in this order:

1. `bounds`: what any order of the copy that is planned (`canonical`, with `facing`) costs at the
   least;
2. where gaps are stated `reduction` makes a `changeover` problem of the job, and `plane_runs` has
   that solved by `solver` (with `subsets` and `run_items`);
3. `peeling` for very many passes; `constructive` for orders by simple rules, and `improvement`;
4. `step_search`, the exact search, over the states of `next_items`, alike sheets as one (`twins`);
5. `ties`, the order nearest to the declared one.

`settling` puts handling in its place before `bounds`, `constructive` and `reduction` look at a job.
Read `constructive` before the searches, and `solver` last.
"""
