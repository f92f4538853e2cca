"""Many jobs: evaluated in their order, each alone or with what the earlier ones left, and put in
the order that takes the least set-up.

Three ways in, each on top of the one before:

1. `evaluating` judges many jobs, given in any form (`any_job`), by `workers` if there are any, and
   keeps the results in a folder (`kept_results`) if one is named. With `carrying` each is judged
   with what the earlier ones left on the printer.
2. `job_sequence` looks for the best order: `setup_kinds` tells which jobs need the same set-up,
   `order_search` tries orders of these kinds, asks `job_plans` what each costs behind others, and
   stops at what `least_setup` says that no order can avoid. `row_setup` adds up.
3. `placed_jobs` judges jobs whose order is known, and keeps only a summary of each.
"""
