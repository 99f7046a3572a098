"""Lists, signs, cards and slips as PDF pages, and the only door to reportlab."""
