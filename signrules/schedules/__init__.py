"""Door schedules: lists of rows, each of which fills a sign type of the shop."""
