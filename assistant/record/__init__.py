"""The record of a job: what was done, found and decided, as one HTML page and as JSON."""
