"""A seeded simulated learner: to ask whether plans work and whether probabilities are honest."""
