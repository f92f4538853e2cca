"""Why there is no safe order: from what is stuck to a smallest set, in words.

Begin with `finding`: `planning/pipeline` calls it from the stage that got stuck. It has a set of
items without an order made as small as can be by `shrinking`. `planning/planner` then has
`conflict_words` say what stands against each of them, with `sides` for what lies the wrong way up.
"""
