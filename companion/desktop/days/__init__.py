"""The page of the days: each section over the days, and every take that was played."""
