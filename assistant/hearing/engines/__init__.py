"""The recognisers, behind one small protocol."""
