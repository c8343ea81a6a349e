"""The page of today: what to do, in which order, for how long, and why."""
