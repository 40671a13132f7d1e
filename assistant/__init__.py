"""Callout: a voice-driven, hands-free assistant for long, order-critical work on machines."""
