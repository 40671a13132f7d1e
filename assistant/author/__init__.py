"""What helps to write a procedure: a start, a torque table, a schema, a page to read, what changed, a guide."""
