"""Words in, labels out: layout in millimetres, dots, sheets; the only door to Pillow, qrcode and python-barcode."""
