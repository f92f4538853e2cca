"""Candidate changes computed for each rule, and the search that keeps those which work.

Begin with `finder`: `evaluation/live` hands it a judged job and a way to judge a changed one. It
takes the findings case by case (`alike_cases`: what is alike is changed together) and for each case

1. asks for `candidates`: what plugins offer (`plugin_offers`), then what `unlike_rows` gives, which
   sets a row that is unlike its likes as these are, and asks `makers` which modules compute changes
   for the rule: `gap_changes`, `order_changes`, `register_changes`, `sign_changes` and the like;
2. has each evaluated by `trials`, as long as `trial_budget` allows;
3. keeps those of which `after_change` says that nothing else became worse.

What was found is kept in `found_remedies`. `applying` applies a remedy to a job.
"""
