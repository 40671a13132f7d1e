"""Response and recognition, measured."""
