"""The speaking room: words become sound, and sound is played so that it can be stopped at once."""
