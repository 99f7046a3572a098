"""What the trade knows: cuts and their names, keeping times, cautions; sourced tables and pure rules."""
