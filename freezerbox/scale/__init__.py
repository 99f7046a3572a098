"""A kitchen scale at the USB port: its steady weight at one press of Enter."""
