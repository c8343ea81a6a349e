"""Key and chord in the window: numerals under the score, their names, their correction."""
