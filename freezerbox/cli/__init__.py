"""Words in, words out: the commands, and the one place that picks the real clock, chance and paths."""
