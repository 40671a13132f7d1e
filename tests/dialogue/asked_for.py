"""How long an answer may be that nobody asked for, and what asks for a longer one."""

ASKED_FOR = {
    *("opened", "repeat", "help", "not-understood", "open", "finish", "caution", "notes-play", "where"),
    *("torque", "sequence", "returned", "resume", "last", "time-left", "left", "timer-left", "tool"),
    *("adapter", "in-unit", "reading", "value-of", "how-so", "count", "call-again", "inside", "what-is"),
}
"""Who says these asks for more than two sentences, or comes back and is told where things stand."""

MOST_WORDS = 50
"""Twenty seconds at two and a half words a second; what is longer is not kept in mind (common practice, no source)."""
