"""Labels and an inventory for the home chest freezer."""
