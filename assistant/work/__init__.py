"""One job, run for real: the doors of hearing and speaking, the dialogue between them, the journal below."""
