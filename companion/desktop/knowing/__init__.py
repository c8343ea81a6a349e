"""What is known and since when, on the page of the days, and the rules by which it is judged."""
