"""What a scanner typed or a camera saw becomes codes; the only door to zxing-cpp."""
