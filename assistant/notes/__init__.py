"""Spoken notes: recorded, kept beside the journal, played back."""
