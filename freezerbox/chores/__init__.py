"""The things a person does, one module each: they take the kitchen and plain arguments, and return records."""
