"""What has been done to this machine: events that are only ever appended, and their fold."""
