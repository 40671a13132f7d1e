"""A mechanic made of sound or text: voices, pace, noise and mistakes, for demonstrations and tests."""
