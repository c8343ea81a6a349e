"""What was practised over time: takes, and how each section stands over the days."""
