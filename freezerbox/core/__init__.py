"""Values, records and pure rules: standard library only; no files, no clock, no chance, no printing."""
