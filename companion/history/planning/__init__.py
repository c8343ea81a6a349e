"""What to do today and until the performance: plans as plain values, made anew from the history."""
