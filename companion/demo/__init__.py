"""A seeded simulated pianist: demo takes for the sample scores and known takes for the tests."""
