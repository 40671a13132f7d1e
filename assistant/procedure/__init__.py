"""What is to be done, as its author wrote it."""
