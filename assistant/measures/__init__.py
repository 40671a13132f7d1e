"""What is measured and worked out: the gauge's rule, several readings, formulas with units; pure."""
