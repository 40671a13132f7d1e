"""From sound to intents: sources, endpointing, engines, the grammar, and what is let through."""
