"""What is said next: a pure function of the procedure, the state of the job, and what was meant."""
